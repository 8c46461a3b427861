"use strict";
// Searching the index of search/index-data.js: the same steps in the same order as journal/find.py.

window.journalFind = function (index) {
  const { closeness, fold, level, readQuery, wordsOf } = window.journalQuery;
  const months = ("january february march april may june july august september october november december").split(" ");
  const part = index.kinds.indexOf("part");
  const phrases = index.phrases.split("\n");
  const folded = phrases.map(fold);
  const fragments = index.fragment.split("\n");
  const rows = {};
  for (const name of ["kind", "title", "text", "also", "date", "page", "number"]) rows[name] = Uint32Array.from(index[name]);
  const facets = { kind: ownNumbers(index.kind, (kind) => index.kinds[kind]) };
  for (const name of ["side", "place", "state"]) {
    rows[name] = Uint32Array.from(index[name]);
    facets[name] = ownNumbers(index[name], (phrase) => phrases[phrase]);
  }
  const facetNames = Object.keys(facets);
  const groupStarts = starts(index.sizes);
  const marksOf = new Map();

  // A column's values numbered afresh, so that they can be counted in a small array.
  function ownNumbers(column, word) {
    const numbers = new Map();
    const values = [];
    const codes = Uint16Array.from(column, (one) => {
      if (!numbers.has(one)) numbers.set(one, values.push(word(one)) - 1);
      return numbers.get(one);
    });
    return { codes, values };
  }

  function starts(sizes) {
    const found = new Uint32Array(sizes.length + 1);
    sizes.forEach((size, n) => { found[n + 1] = found[n] + size; });
    return found;
  }

  // How a word stands in every phrase, set of phrases and date. A longer word is looked for where its beginning is.
  function marks(word) {
    if (marksOf.has(word)) return marksOf.get(word);
    const before = shorter(word);
    const phrase = new Uint8Array(folded.length);
    for (let n = 0; n < folded.length; n++) {
      if (!before || before.phrase[n]) phrase[n] = level(folded[n], word);
    }
    const made = {
      phrase,
      also: Uint8Array.from(index.alsoSets, (set) => set.reduce((best, n) => Math.max(best, phrase[n]), 0)),
      date: Uint8Array.from(index.dates, (iso) => dateLevel(iso, word)),
    };
    if (marksOf.size > 40) marksOf.clear();
    marksOf.set(word, made);
    return made;
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

  // How near every set of numbers is to all the values asked for.
  function nearSets(ranges) {
    const [quantities, lows, highs] = index.intervals;
    const worst = new Uint8Array(index.numberSets.length);
    for (const asked of ranges) {
      const near = lows.map((low, n) =>
        index.quantities[quantities[n]] === asked.quantity ? closeness(asked, low, highs[n]) : 3);
      index.numberSets.forEach((set, n) => {
        worst[n] = Math.max(worst[n], set.reduce((best, one) => Math.min(best, near[one]), 3));
      });
    }
    return worst;
  }

  function rowLevel(made, row, name) {
    if (name === 2) return 2;
    const phrase = made.phrase;
    const state = rows.kind[row] === part ? phrase[rows.state[row]] : 0;
    return Math.max(name, phrase[rows.title[row]], phrase[rows.text[row]], phrase[rows.place[row]],
      phrase[rows.side[row]], made.also[rows.also[row]], made.date[rows.date[row]], state);
  }

  function nameLevel(made, head) {
    return Math.max(made.phrase[rows.title[head]], made.also[rows.also[head]]);
  }

  // Which values of each facet let a row through.
  function passes(chosen) {
    return facetNames.map((name) => {
      const want = chosen[name] || "";
      const fits = (word) => !want || word === want || (name === "place" && word.startsWith(want + " / "));
      return { codes: facets[name].codes, pass: Uint8Array.from(facets[name].values, (word) => Number(fits(word))),
        counts: new Uint32Array(facets[name].values.length) };
    });
  }

  // Counts a row under every facet whose own choice alone could hold it back; whether it passes all of them.
  function counted(row, gates) {
    let shut = null;
    for (const gate of gates) {
      if (!gate.pass[gate.codes[row]]) {
        if (shut) return false;
        shut = gate;
      }
    }
    if (shut) shut.counts[shut.codes[row]]++;
    else for (const gate of gates) gate.counts[gate.codes[row]]++;
    return !shut;
  }

  // The hits of a group: row and how much worse than best it is, whole words before near values.
  function hitsOf(group, search) {
    const head = groupStarts[group];
    const names = search.made.map((made) => nameLevel(made, head));
    const hits = [];
    for (let row = head; row < groupStarts[group + 1]; row++) {
      const near = search.near[rows.number[row]];
      if (near === 3) continue;
      let lowest = 2;
      for (let w = 0; w < names.length && lowest; w++) lowest = Math.min(lowest, rowLevel(search.made[w], row, names[w]));
      if (lowest && counted(row, search.gates)) hits.push({ row, worse: (lowest === 2 ? 0 : 4) + near });
    }
    return hits.length ? { head, hits, score: score(head, names, hits, search.query.words) } : null;
  }

  // Which group comes first: CRITERIA of journal/find.py, as the digits of one number.
  function score(head, names, hits, asked) {
    const hasAll = names.every((one) => one > 0);
    const name = hasAll && asked.length ? wordsOf(folded[rows.title[head]]) : [];
    const isIt = name.length > 0 && name.length === asked.length && asked.every((word, n) => word === name[n]);
    const startsSo = rows.kind[head] === part && name.length > 0 && asked.every((word, n) =>
      n < name.length && (n < asked.length - 1 ? word === name[n] : name[n].startsWith(word)));
    const isWhole = hits.some((hit) => hit.worse < 4);
    const near = hits.reduce((best, hit) => Math.min(best, hit.worse & 3), 3);
    const criteria = [[!isIt, 2], [!startsSo, 2], [!hasAll, 2], [!isWhole, 2], [near, 4], [rows.kind[head] !== part, 2]];
    return criteria.reduce((number, [worse, choices]) => number * choices + Number(worse), 0);
  }

  // Everything found for what was typed and chosen: {query, groups: [{head, hits: [{row}]}], count, counts}.
  function find(typed, chosen) {
    const query = readQuery(typed);
    const isIdle = !query.words.length && !query.ranges.length && !facetNames.some((name) => chosen[name]);
    const search = { query, made: query.words.map(marks), near: nearSets(query.ranges), gates: passes(chosen) };
    const groups = [];
    let count = 0;
    for (let group = 0; group + 1 < groupStarts.length; group++) {
      const found = hitsOf(group, search);
      if (!found) continue;
      groups.push(found);
      count += found.hits.length;
    }
    const counts = Object.fromEntries(facetNames.map((name, n) => [name, search.gates[n].counts]));
    if (isIdle) return { query, groups: [], count: 0, counts };
    return { query, groups: groups.sort((a, b) => a.score - b.score), count, counts };
  }

  // The rows of a group that were found, the best first.
  function ordered(group) {
    return group.hits.slice().sort((a, b) => a.worse - b.worse).map((hit) => hit.row);
  }

  // A row as it is shown.
  function shown(row) {
    const fragment = fragments[row];
    return {
      kind: index.kinds[rows.kind[row]],
      title: phrases[rows.title[row]],
      text: phrases[rows.text[row]],
      place: phrases[rows.place[row]],
      state: phrases[rows.state[row]],
      date: index.dates[rows.date[row]],
      url: index.pages[rows.page[row]] + (fragment ? "#" + fragment : ""),
    };
  }

  // The query with the first word that is nowhere, spelt as it stands somewhere; numbers and codes are left alone.
  function nearQueries(typed) {
    const counts = wordCounts();
    const known = Array.from(counts.keys());
    const lost = readQuery(typed).words.find((word) => isLetters(word) && !known.some((one) => one.startsWith(word)));
    if (!lost) return [];
    const most = lost.length < 5 ? 1 : 2;
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

  const values = Object.fromEntries(facetNames.map((name) => [name, facets[name].values]));
  return { find, nearQueries, ordered, shown, values };
};
