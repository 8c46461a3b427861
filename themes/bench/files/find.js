"use strict";
// Searching the index of search/index-data.js: the same steps in the same order as journal/find.py.

window.journalFind = function (index) {
  const { closeness, fold, initials, level, readQuery, wordsOf } = window.journalQuery;
  const months = ("january february march april may june july august september october november december").split(" ");
  const facetNames = ["kind", "side", "place", "state"];
  const part = index.kinds.indexOf("part");
  const phrases = index.phrases.split("\n");
  const folded = phrases.map(fold);
  const begins = Uint32Array.from(folded, initials);
  const fragments = index.fragment.split("\n");
  const rows = {};
  for (const name of ["kind", "title", "text", "context", "page", "number"]) rows[name] = Uint32Array.from(index[name]);
  const contexts = {};
  ["place", "side", "state", "also", "date"].forEach((name, n) => { contexts[name] = Uint32Array.from(index.contexts[n]); });
  const groupStarts = new Uint32Array(index.sizes.length + 1);
  index.sizes.forEach((size, n) => { groupStarts[n + 1] = groupStarts[n] + size; });
  const marksOf = new Map();
  const SCORES = 128;
  const NEITHER = { isIt: false, startsSo: false };
  // What was found last: rows, and how much worse than best each is; every group has its stretch of them.
  const hitRows = new Uint32Array(rows.kind.length);
  const hitWorse = new Uint8Array(rows.kind.length);

  // How a word stands in every phrase and in every row. A longer word is looked for only where its beginning was found.
  function marks(word) {
    const known = marksOf.get(word);
    if (known) return known;
    const before = shorter(word);
    const initial = initials(word[0]);
    const phrase = new Uint8Array(folded.length);
    for (let n = 0; n < folded.length; n++) {
      if (before ? before.phrase[n] : !initial || begins[n] & initial) phrase[n] = level(folded[n], word);
    }
    const also = Uint8Array.from(index.also, (set) => bestOf(set, phrase));
    const date = Uint8Array.from(index.dates, (iso) => dateLevel(iso, word));
    const context = contexts.also.map((set, n) =>
      Math.max(also[set], date[contexts.date[n]], phrase[contexts.place[n]], phrase[contexts.side[n]]));
    const made = { phrase, ...rowLevels(phrase, also, Uint8Array.from(context), before) };
    if (marksOf.size > 40) marksOf.clear();
    marksOf.set(word, made);
    return made;
  }

  // How a word stands in the name of every group, and in every row: there or in its group's name.
  function rowLevels(phrase, also, context, before) {
    const name = new Uint8Array(index.sizes.length);
    const row = new Uint8Array(rows.kind.length);
    for (let group = 0; group < name.length; group++) {
      const head = groupStarts[group];
      name[group] = Math.max(phrase[rows.title[head]], also[contexts.also[rows.context[head]]]);
      for (let n = head; n < groupStarts[group + 1]; n++) {
        if (before && !before.row[n]) continue;
        row[n] = Math.max(name[group], phrase[rows.title[n]], phrase[rows.text[n]], context[rows.context[n]]);
      }
      if (rows.kind[head] === part) row[head] = Math.max(row[head], phrase[contexts.state[rows.context[head]]]);
    }
    return { name, row };
  }

  function bestOf(set, levels) {
    let best = 0;
    for (const one of set) best = Math.max(best, levels[one]);
    return best;
  }

  function shorter(word) {
    for (let length = word.length - 1; length > 0; length--) {
      const made = marksOf.get(word.slice(0, length));
      if (made) return made;
    }
    return null;
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

  // The level of the word that stands worst, for every row.
  function lowestLevels(made) {
    if (made.length === 1) return made[0].row;
    const lowest = new Uint8Array(rows.kind.length).fill(2);
    for (const { row } of made) {
      for (let n = 0; n < lowest.length; n++) if (row[n] < lowest[n]) lowest[n] = row[n];
    }
    return lowest;
  }

  function searchFor(query, gates) {
    const made = query.words.map(marks);
    return { query, gates, made, levels: lowestLevels(made), near: nearSets(query.ranges) };
  }

  // How well a row answers: 0 to 2 whole words and how near its value is, 4 to 6 beginnings of words, -1 not at all.
  function worseOf(row, search) {
    const lowest = search.levels[row];
    if (!lowest) return -1;
    const near = search.near[rows.number[row]];
    return near === 3 ? -1 : (lowest === 2 ? 0 : 4) + near;
  }

  function isOut(row, gates) {
    for (const gate of gates) if (!gate.pass[gate.codes[row]]) return true;
    return false;
  }

  // Notes the hits of a group from place `from` on; gives the place after the last.
  function noteHits(group, search, from) {
    let to = from;
    for (let row = groupStarts[group]; row < groupStarts[group + 1]; row++) {
      const worse = worseOf(row, search);
      if (worse < 0 || (search.gates.length && isOut(row, search.gates))) continue;
      hitRows[to] = row;
      hitWorse[to++] = worse;
    }
    return to;
  }

  // Everything found for what was typed and chosen: {query, groups: [{head, from, to}], count}; good until the next.
  function find(typed, chosen) {
    const query = readQuery(typed);
    const gates = gatesOf(chosen);
    if (!query.words.length && !query.ranges.length && !gates.length) return { query, groups: [], count: 0 };
    const search = searchFor(query, gates);
    const ranked = Array.from({ length: SCORES }, () => []);
    let from = 0;
    for (let group = 0; group < index.sizes.length; group++) {
      const to = noteHits(group, search, from);
      if (to > from) ranked[score(group, search, from, to)].push({ head: groupStarts[group], from, to });
      from = to;
    }
    return { query, groups: ranked.flat(), count: from };
  }

  // How many rows each value of each facet would leave: all that the other facets let through.
  function counts(typed, chosen) {
    const search = searchFor(readQuery(typed), []);
    const gates = facetNames.map((name) =>
      ({ codes: codes[name], pass: passes(name, chosen[name]), counts: new Uint32Array(values[name].length) }));
    for (let row = 0; row < rows.kind.length; row++) if (worseOf(row, search) >= 0) count(row, gates);
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

  // A row as it is shown.
  function shown(row) {
    const fragment = fragments[row];
    const context = rows.context[row];
    return {
      kind: index.kinds[rows.kind[row]],
      title: phrases[rows.title[row]],
      text: phrases[rows.text[row]],
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

  return { counts, find, nearQueries, ordered, shown, values };
};
