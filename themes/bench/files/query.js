"use strict";
// What somebody typed, read as words and values: the same as journal/pages/query.py, line for line.
// What both need to know (signs, units, the pattern of a value) comes from there in search/query-data.js.

window.journalQuery = (function () {
  const known = window.journalGrammar;
  const value = new RegExp(known.value, "iy");
  const date = new RegExp(known.date, "gi");
  const word = /(?=[\p{L}\p{N}])(?:[\p{L}\p{Nl}\p{No}]|\p{Nd}(?:[,/:](?=\p{Nd}))?|[-_.+](?=\p{Nd}))+/gu;
  const fraction = new RegExp("([0-9]?) ?([" + Object.keys(known.fractions).join("") + "])", "g");
  const ascii = /^[\x00-\x7f]*$/;
  const simple = /^[!-_a-~]+(?: [!-_a-~]+)*$/; // nothing in it that folding changes but capitals

  function plainSigns(text) {
    return ascii.test(text) ? text.replace(/[\t\n\r\v\f\x1c-\x1f`]/g, (c) => known.signs[c] || c)
      : text.replace(/[^]/g, (c) => known.signs[c] || c);
  }

  function plain(text) {
    const signs = plainSigns(text).replace(fraction, (_, digit, sign) => digit + " " + known.fractions[sign]);
    return signs.replace(/ +/g, " ").replace(/^ | $/g, "");
  }

  function fold(text) {
    let folded = simple.test(text) ? text : plain(text);
    if (!ascii.test(folded)) {
      folded = folded.normalize("NFKD").toLowerCase().replace(/\p{M}/gu, "");
      folded = folded.replace(/[^\x00-\x7f]/g, (c) => known.letters[c] || c);
    }
    return folded.toLowerCase().replace(/([0-9]) ?x ?(?=[0-9])/g, "$1 x ");
  }

  function wordsOf(folded) {
    return folded.match(word) || [];
  }

  function readQuery(typed) {
    const text = plain(Array.from(typed).slice(0, known.mostCharacters).join("")).replace(date, iso);
    const words = [];
    const ranges = [];
    let start = 0;
    let at = 0;
    while (at < text.length) {
      value.lastIndex = at;
      const match = value.exec(text);
      const found = match && range(match.slice(1));
      if (found) {
        words.push(...wordsOf(fold(text.slice(start, at))));
        ranges.push(found);
        start = at = value.lastIndex = at + match[0].length;
      } else {
        at = nextPlace(text, at);
      }
    }
    words.push(...wordsOf(fold(text.slice(start))));
    return { words: Array.from(new Set(words)), ranges };
  }

  function iso(_, day, month, year) {
    const number = known.months.indexOf(month.toLowerCase()) + 1;
    return year + "-" + String(number).padStart(2, "0") + "-" + day.padStart(2, "0");
  }

  function nextPlace(text, at) {
    word.lastIndex = at;
    const match = word.exec(text);
    return match && match.index === at ? at + match[0].length : at + 1;
  }

  function range([about, feet, foot, inches, inch, a, unitA, sign, b, unitB, one, unit]) {
    const wider = about ? 2 : 1;
    if (feet && foot && inches && inch) return feetAndInches(feet, inches, wider);
    if (one && unit) return single(one, findUnit(unit), wider);
    const first = findUnit(unitA || unitB || "");
    const second = findUnit(unitB || unitA || "");
    if (!(a && b && sign && first && second) || first.quantity !== second.quantity) return null;
    if (sign === "-" && !unitA && /^[0-9]+$/.test(a) && b.includes("/") && !b.includes(" ")) {
      return single(a + " " + b, second, wider);
    }
    if (/^(?:to|\.\.|-)$/i.test(sign)) return between(based(a, first), based(b, second), first.quantity);
    const middle = based(a, first);
    const half = number(b) * second.factor;
    return { quantity: first.quantity, low: middle - half, high: middle + half, middle };
  }

  function between(a, b, quantity) {
    return { quantity, low: Math.min(a, b), high: Math.max(a, b), middle: (a + b) / 2 };
  }

  function feetAndInches(feet, inches, wider) {
    const ft = findUnit("ft");
    const inch = findUnit("in");
    const middle = based(feet, ft) + based(inches, inch);
    const half = halfOf(inches, inch) * wider;
    return { quantity: "length", low: middle - half, high: middle + half, middle };
  }

  function single(text, unit, wider) {
    if (!unit) return null;
    const middle = based(text, unit);
    const half = halfOf(text, unit) * wider;
    return { quantity: unit.quantity, low: middle - half, high: middle + half, middle };
  }

  function number(text) {
    const pieces = text.replace(/-/g, " ").split(" ");
    const [top, bottom] = pieces.pop().split("/");
    let part = Number(top.replace(",", "."));
    if (bottom !== undefined) part = Number(bottom) ? part / Number(bottom) : 0;
    return Number(pieces.join(" ") || "0") + part;
  }

  function based(text, unit) {
    return number(text) * unit.factor + unit.offset;
  }

  function halfOf(text, unit) {
    const bottom = Number(text.split("/")[1] || "1");
    const decimals = (text.replace(",", ".").split(".")[1] || "").length;
    if (unit.symbol === "in" && !decimals && known.inches[bottom]) return known.inches[bottom] * unit.factor;
    const half = bottom > 1 ? unit.factor / (2 * bottom) : unit.factor / (2 * 10 ** decimals);
    return unit.quantity === "length" ? Math.min(half, known.mostHalf) : half;
  }

  function findUnit(spelling) {
    const key = plainSigns(spelling).replace(/[ .·*-]/g, "");
    const row = lookUp(known.exact, key) || lookUp(known.units, key.toLowerCase());
    return row && { symbol: row[0], quantity: row[1], factor: row[2], offset: row[3] };
  }

  function lookUp(table, key) {
    return Object.prototype.hasOwnProperty.call(table, key) ? table[key] : null;
  }

  // How a word stands in a folded phrase. 2: whole, 1: at the start of a word, 0: it does not.
  function level(phrase, asked) {
    let best = 0;
    for (let at = phrase.indexOf(asked); at >= 0 && best < 2; at = phrase.indexOf(asked, at + 1)) {
      if (starts(phrase, at)) best = ends(phrase, at + asked.length) ? 2 : 1;
    }
    return best;
  }

  // The signs that words of a folded phrase may start with, as bits; two signs may share one.
  function initials(phrase) {
    let bits = 0;
    let before = 0;
    for (let at = 0; at < phrase.length; at++) {
      const code = phrase.charCodeAt(at);
      const here = sort(code);
      if (before !== here) bits |= 1 << (code & 31);
      before = here;
    }
    return bits;
  }

  // 2: a digit, 1: another letter or number, 0: any other sign or nothing.
  function sort(code) {
    return code < 128 ? sorts[code] : sortOfOther(code);
  }

  const sorts = Uint8Array.from({ length: 128 }, (_, code) => (code >= 48 && code <= 57 ? 2 : code >= 97 && code <= 122 ? 1 : 0));

  function sortOfOther(code) {
    const text = String.fromCharCode(code);
    return /\p{Nd}/u.test(text) ? 2 : /[\p{L}\p{N}]/u.test(text) ? 1 : 0;
  }

  function starts(text, at) {
    if (at === 0) return true;
    const before = text.charCodeAt(at - 1);
    const isDigit = sort(text.charCodeAt(at)) === 2;
    if (sort(before)) return sort(before) === 1 && isDigit;
    return !(inNumber(before) && isDigit && at > 1 && sort(text.charCodeAt(at - 2)) === 2);
  }

  function ends(text, at) {
    if (at === text.length) return true;
    const after = text.charCodeAt(at);
    if (sort(after)) return false;
    const goesOn = at + 1 < text.length && sort(text.charCodeAt(at + 1)) === 2;
    return !(inNumber(after) && goesOn && sort(text.charCodeAt(at - 1)) === 2);
  }

  function inNumber(code) {
    return code === 46 || code === 44 || code === 47;
  }

  // How a value stands to an interval. 0: the very number, 1: its middle is within, 2: they overlap, 3: they do not.
  function closeness(asked, low, high) {
    if (!overlaps(asked, low, high)) return 3;
    const middle = (low + high) / 2;
    if (Math.abs(middle - asked.middle) <= known.eps) return 0;
    return asked.low - known.eps <= middle && middle <= asked.high + known.eps ? 1 : 2;
  }

  function overlaps(asked, low, high) {
    const shared = Math.min(asked.high, high) - Math.max(asked.low, low);
    const isPoint = high - low <= known.eps || asked.high - asked.low <= known.eps;
    return isPoint ? shared >= -known.eps : shared > known.eps;
  }

  return { closeness, fold, initials, level, readQuery, wordsOf };
})();
