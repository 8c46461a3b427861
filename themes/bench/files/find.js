"use strict";
// Searching the index of search/index-data.js: the same steps in the same order as journal/find.py.

window.journalFind = function (index) {
  const { closeness, fold, initials, level, readQuery, wordsOf } = window.journalQuery;
  const months = ("january february march april may june july august september october november december").split(" ");
  const facetNames = ["kind", "side", "place", "state"];
  const part = index.kinds.indexOf("part");
  const phrases = index.phrases.split("\n");
  const folded = phrases.map(fold);
  const pieces = piecesOf(folded);
  const fragments = index.fragment.split("\n");
  const rows = {};
  for (const name of ["kind", "title", "text", "context", "page", "number"]) rows[name] = Uint32Array.from(index[name]);
  const contexts = {};
  ["place", "side", "state", "note", "gone", "also", "date"].forEach((name, n) => { contexts[name] = Uint32Array.from(index.contexts[n]); });
  const groupStarts = new Uint32Array(index.sizes.length + 1);
  index.sizes.forEach((size, n) => { groupStarts[n + 1] = groupStarts[n] + size; });
  const everyRow = Uint32Array.from(rows.kind, (_, n) => n);
  const groupOf = new Uint32Array(rows.kind.length);
  for (let group = 0; group < index.sizes.length; group++) groupOf.fill(group, groupStarts[group], groupStarts[group + 1]);
  // The state of a part is found at its head only: the phrase of a row's state, or none, which stands after the last.
  const states = new Uint32Array(rows.kind.length).fill(folded.length);
  for (const head of groupStarts.subarray(0, -1)) if (rows.kind[head] === part) states[head] = contexts.state[rows.context[head]];
  const marksOf = new Map();
  const MARKS_KEPT = 80; // words; single letters stay
  const SCORES = 128;
  const NEITHER = { isIt: false, startsSo: false };
  // What was found last: rows, and how much worse than best each is; every group has its stretch of them.
  const hitRows = new Uint32Array(rows.kind.length);
  const hitWorse = new Uint8Array(rows.kind.length);

  // The distinct pieces between spaces of all phrases, and where each stands: piece n in the phrases `where` from place
  // starts[n] to starts[n + 1]. A word has no space, so it stands in a phrase as it stands in the best of its pieces.
  function piecesOf(texts) {
    const numbers = new Map();
    const met = []; // a piece and its phrase, in turn
    texts.forEach((text, phrase) => {
      for (const piece of text.split(" ")) {
        let number = numbers.get(piece);
        if (number === undefined) numbers.set(piece, (number = numbers.size));
        met.push(number, phrase);
      }
    });
    const words = Array.from(numbers.keys());
    const starts = new Uint32Array(words.length + 1);
    for (let n = 0; n < met.length; n += 2) starts[met[n] + 1]++;
    for (let n = 0; n < words.length; n++) starts[n + 1] += starts[n];
    const where = new Uint32Array(met.length / 2);
    const next = starts.slice();
    for (let n = 0; n < met.length; n += 2) where[next[met[n]]++] = met[n + 1];
    return { words, begins: Uint32Array.from(words, initials), starts, where };
  }

  // How a word stands in every phrase and in every row. A longer word is looked for only where its beginning was found.
  function marks(word) {
    const known = marksOf.get(word);
    if (known) return known;
    const phrase = phraseLevels(word);
    const made = rowLevels(phrase, contextLevels(phrase, word), foundOf(shorterOf(word)));
    if (marksOf.size > MARKS_KEPT) for (const one of marksOf.keys()) if (one.length > 1) marksOf.delete(one);
    marksOf.set(word, made);
    return made;
  }

  function phraseLevels(word) {
    const levels = new Uint8Array(folded.length + 1);
    const initial = initials(word[0]);
    pieces.words.forEach((piece, n) => {
      if (initial && !(pieces.begins[n] & initial)) return;
      const best = level(piece, word);
      if (!best) return;
      for (let at = pieces.starts[n]; at < pieces.starts[n + 1]; at++) {
        const phrase = pieces.where[at];
        if (levels[phrase] < best) levels[phrase] = best;
      }
    });
    return levels;
  }

  // How a word stands in the other names of every context, and in all of it. Plain loops: this is done at every letter.
  function contextLevels(phrase, word) {
    const { also, date, gone, note, place, side } = contexts;
    const sets = new Uint8Array(index.also.length);
    for (let n = 0; n < sets.length; n++) for (const one of index.also[n]) sets[n] = Math.max(sets[n], phrase[one]);
    const dates = new Uint8Array(index.dates.length);
    for (let n = 0; n < dates.length; n++) dates[n] = dateLevel(index.dates[n], word);
    const whole = new Uint8Array(also.length);
    for (let n = 0; n < whole.length; n++) {
      whole[n] = Math.max(sets[also[n]], dates[date[n]], phrase[note[n]], phrase[gone[n]], phrase[place[n]], phrase[side[n]]);
    }
    return { sets, whole };
  }

  // How a word stands in the name of every group, and in every row of `before`: there or in its group's name.
  function rowLevels(phrase, context, before) {
    const { title, text } = rows;
    const name = new Uint8Array(index.sizes.length);
    const row = new Uint8Array(rows.kind.length);
    for (let group = 0; group < name.length; group++) {
      const head = groupStarts[group];
      name[group] = Math.max(phrase[title[head]], context.sets[contexts.also[rows.context[head]]]);
    }
    const found = new Uint32Array(before.length);
    let to = 0;
    for (let n = 0; n < before.length; n++) {
      const at = before[n];
      const whole = context.whole[rows.context[at]];
      row[at] = Math.max(name[groupOf[at]], phrase[title[at]], phrase[text[at]], whole, phrase[states[at]]);
      if (row[at]) found[to++] = at;
    }
    return { name, row, found: found.slice(0, to) };
  }

  function shorterOf(word) {
    for (let length = word.length - 1; length > 0; length--) {
      const made = marksOf.get(word.slice(0, length));
      if (made) return [made];
    }
    return [];
  }

  // Where to look: the rows of the word that stands in fewest.
  function foundOf(made) {
    return made.reduce((fewest, { found }) => (found.length < fewest.length ? found : fewest), everyRow);
  }

  function dateLevel(iso, word) {
    if (!iso) return 0;
    if (word.length >= 4 && iso.startsWith(word)) return 2;
    const month = months[Number(iso.slice(5, 7)) - 1];
    return month === word ? 2 : Number(word.length >= 3 && month.startsWith(word));
  }

  // How near every set of numbers is to all the values asked for; 0 throughout where there is none.
  function nearSets(ranges) {
    const [quantities, lows, highs] = index.intervals;
    const worst = new Uint8Array(index.numbers.length);
    for (const asked of ranges) {
      const quantity = index.quantities.indexOf(asked.quantity);
      const near = Uint8Array.from(lows, (low, n) => (quantities[n] === quantity ? closeness(asked, low, highs[n]) : 3));
      index.numbers.forEach((set, n) => {
        let best = 3;
        for (const one of set) best = Math.min(best, near[one]);
        worst[n] = Math.max(worst[n], best);
      });
    }
    return worst;
  }

  // What a facet may be, and which it is for a row.

  const values = { kind: index.kinds };
  const codes = { kind: rows.kind };
  for (const name of facetNames.slice(1)) {
    const distinct = Array.from(new Set(contexts[name]));
    const code = new Map(distinct.map((phrase, n) => [phrase, n]));
    const ofContext = contexts[name].map((phrase) => code.get(phrase));
    values[name] = distinct.map((phrase) => phrases[phrase]);
    codes[name] = rows.context.map((context) => ofContext[context]);
  }

  // Which values of a facet let a row through; null: all. A place takes in all below it.
  function passes(name, want) {
    if (!want) return null;
    const below = want + " / ";
    return Uint8Array.from(values[name], (word) => Number(word === want || (name === "place" && word.startsWith(below))));
  }

  function gatesOf(chosen) {
    return facetNames.filter((name) => chosen[name]).map((name) => ({ name, codes: codes[name], pass: passes(name, chosen[name]) }));
  }

  // Finding.

  // What is found, with the level of the word that stands worst for every row; without words all stand whole.
  function searchFor(query, gates) {
    const made = query.words.map(marks);
    const near = nearSets(query.ranges);
    const { levels, found } = made.length === 1 ? { levels: made[0].row, found: made[0].found } : together(made);
    return { query, gates, made, levels, near, found };
  }

  function together(made) {
    const levels = new Uint8Array(rows.kind.length);
    const found = foundOf(made);
    for (let n = 0; n < found.length; n++) {
      let lowest = 2;
      for (let word = 0; word < made.length; word++) lowest = Math.min(lowest, made[word].row[found[n]]);
      levels[found[n]] = lowest;
    }
    return { levels, found };
  }

  function isOut(row, gates) {
    for (const gate of gates) if (!gate.pass[gate.codes[row]]) return true;
    return false;
  }

  // Notes the hits among what is found; gives how many there are.
  function noteHits({ levels, near, gates, found }) {
    let to = 0;
    for (let n = 0; n < found.length; n++) {
      const row = found[n];
      const far = near[rows.number[row]];
      if (!levels[row] || far === 3 || (gates.length && isOut(row, gates))) continue;
      hitRows[to] = row;
      hitWorse[to++] = (levels[row] === 2 ? 0 : 4) + far; // whole words and how near the value is, then their beginnings
    }
    return to;
  }

  // Everything found for what was typed and chosen: {query, groups: [{head, from, to}], count}; good until the next.
  function find(typed, chosen) {
    const query = readQuery(typed);
    const gates = gatesOf(chosen);
    if (!query.words.length && !query.ranges.length && !gates.length) return { query, groups: [], count: 0 };
    const search = searchFor(query, gates);
    const count = noteHits(search);
    const ranked = Array.from({ length: SCORES }, () => []);
    for (let from = 0, to = 0; from < count; from = to) {
      const group = groupOf[hitRows[from]];
      while (to < count && groupOf[hitRows[to]] === group) to++;
      ranked[score(group, search, from, to)].push({ head: groupStarts[group], from, to });
    }
    return { query, groups: ranked.flat(), count };
  }

  // How many rows each value of each facet would leave: all that the other facets let through.
  function counts(typed, chosen) {
    const search = searchFor(readQuery(typed), []);
    const gates = facetNames.map((name) =>
      ({ codes: codes[name], pass: passes(name, chosen[name]), counts: new Uint32Array(values[name].length) }));
    const { levels, near, found } = search;
    for (const row of found) if (levels[row] && near[rows.number[row]] < 3) count(row, gates);
    return Object.fromEntries(facetNames.map((name, n) => [name, gates[n].counts]));
  }

  function count(row, gates) {
    let shut = null;
    for (const gate of gates) {
      if (!gate.pass || gate.pass[gate.codes[row]]) continue;
      if (shut) return;
      shut = gate;
    }
    if (shut) shut.counts[shut.codes[row]]++;
    else for (const gate of gates) gate.counts[gate.codes[row]]++;
  }

  // Which group comes first: CRITERIA of journal/find.py, as the digits of one number below SCORES.
  function score(group, search, from, to) {
    const asked = search.query.words;
    const head = groupStarts[group];
    const isPart = rows.kind[head] === part;
    const hasAll = search.made.every((made) => made.name[group] > 0);
    const { isIt, startsSo } = hasAll && asked.length ? nameAgainst(folded[rows.title[head]], asked) : NEITHER;
    let isWhole = false;
    let near = 3;
    for (let n = from; n < to; n++) {
      isWhole = isWhole || hitWorse[n] < 4;
      near = Math.min(near, hitWorse[n] & 3);
    }
    const name = (isIt ? 0 : 4) + (isPart && startsSo ? 0 : 2) + (hasAll ? 0 : 1);
    return ((name * 2 + (isWhole ? 0 : 1)) * 4 + near) * 2 + (isPart ? 0 : 1);
  }

  // Whether a name is what was typed, and whether it starts so.
  function nameAgainst(name, asked) {
    if (/^[a-z0-9]/.test(name) && !name.startsWith(asked[0])) return NEITHER;
    const words = wordsOf(name);
    const isSo = (word, n) => n < words.length && (n < asked.length - 1 ? word === words[n] : words[n].startsWith(word));
    return { isIt: words.join(" ") === asked.join(" "), startsSo: asked.every(isSo) };
  }

  // The rows of a group that were found, the best first; put in order once.
  function ordered(group) {
    if (!group.rows) {
      const ranked = Array.from({ length: 7 }, () => []);
      for (let n = group.from; n < group.to; n++) ranked[hitWorse[n]].push(hitRows[n]);
      group.rows = ranked.flat();
    }
    return group.rows;
  }

  // The letters and digits that anything starts with: whoever looks for each of them once finds every first letter fast.
  function firstSigns() {
    return "abcdefghijklmnopqrstuvwxyz0123456789".split("").filter((sign) => pieces.begins.some((bits) => bits & initials(sign)));
  }

  // A row as it is shown.
  function shown(row) {
    const fragment = fragments[row];
    const context = rows.context[row];
    return {
      kind: index.kinds[rows.kind[row]],
      title: phrases[rows.title[row]],
      text: phrases[rows.text[row]],
      note: phrases[contexts.note[context]],
      gone: phrases[contexts.gone[context]],
      place: phrases[contexts.place[context]],
      state: phrases[contexts.state[context]],
      date: index.dates[contexts.date[context]],
      url: index.pages[rows.page[row]] + (fragment ? "#" + fragment : ""),
    };
  }

  // The query with the first word that is nowhere, spelt as it stands somewhere; numbers and codes are left alone.
  function nearQueries(typed) {
    const counts = wordCounts();
    const known = Array.from(counts.keys());
    const lost = readQuery(typed).words.find((word) => isLetters(word) && !known.some((one) => one.startsWith(word)));
    if (!lost) return [];
    const most = lost.length < 6 ? 1 : 2;
    const near = known.map((word) => ({ word, far: distance(lost, word, most) })).filter((one) => one.far <= most);
    near.sort((a, b) => a.far - b.far || counts.get(b.word) - counts.get(a.word) || (a.word < b.word ? -1 : 1));
    return near.slice(0, 3).map(({ word }) =>
      typed.split(/\s+/).filter(Boolean).map((one) => (fold(one) === lost ? word : one)).join(" "));
  }

  function isLetters(word) {
    return /^\p{L}+$/u.test(word);
  }

  let tally = null;

  // How often every word stands somewhere; made once, when nothing was found for the first time.
  function wordCounts() {
    if (tally) return tally;
    tally = new Map(months.map((month) => [month, 1]));
    folded.forEach((phrase) => wordsOf(phrase).forEach((word) => {
      if (isLetters(word) && word.length > 2) tally.set(word, (tally.get(word) || 0) + 1);
    }));
    return tally;
  }

  // Letters to change, leave out, put in or swap with their neighbour; `most + 1` for anything further.
  function distance(a, b, most) {
    if (Math.abs(a.length - b.length) > most) return most + 1;
    let before = [];
    let last = Array.from({ length: b.length + 1 }, (_, n) => n);
    for (let i = 1; i <= a.length; i++) {
      const row = [i];
      for (let j = 1; j <= b.length; j++) {
        let cost = Math.min(last[j] + 1, row[j - 1] + 1, last[j - 1] + Number(a[i - 1] !== b[j - 1]));
        if (i > 1 && j > 1 && a[i - 1] === b[j - 2] && a[i - 2] === b[j - 1]) cost = Math.min(cost, before[j - 2] + 1);
        row.push(cost);
      }
      if (Math.min(...row) > most) return most + 1;
      before = last;
      last = row;
    }
    return last[b.length];
  }

  return { counts, find, firstSigns, nearQueries, ordered, shown, values };
};
