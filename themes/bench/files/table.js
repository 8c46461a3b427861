"use strict";
// The table of measurements: sorted by a button in each heading, filtered by words and values as the search page is.
// Without this script the table is simply there.

(function () {
  const table = document.getElementById("measurements");
  const tools = document.getElementById("table-tools");
  const status = document.getElementById("table-status");
  if (!table || !tools || !window.journalQuery) return;

  const { closeness, fold, level, readQuery } = window.journalQuery;
  const root = new URL("..", document.currentScript.src).href;
  const body = table.tBodies[0];
  const asMade = Array.from(body.rows);
  const collator = new Intl.Collator("en", { numeric: true, sensitivity: "base" });
  const known = new Map(); // row -> its folded words and its values, once they were looked at

  // Sorting.

  const COMPARE = {
    text: (a, b) => collator.compare(a, b),
    number: (a, b) => Number(a) - Number(b),
    date: (a, b) => (a < b ? -1 : Number(a > b)),
  };

  function keyOf(row, column) {
    const cell = row.cells[column];
    return cell.dataset.value || cell.textContent.trim();
  }

  // A row without what is sorted by comes last, whichever way round; what ties stays as it was made.
  function sorted(column, kind, isDown) {
    const keyed = asMade.map((row) => ({ row, key: keyOf(row, column) }));
    const isEmpty = (one) => !one.key || (kind === "number" && Number.isNaN(Number(one.key)));
    const full = keyed.filter((one) => !isEmpty(one));
    full.sort((a, b) => (isDown ? -1 : 1) * COMPARE[kind](a.key, b.key));
    return full.concat(keyed.filter(isEmpty)).map((one) => one.row);
  }

  // Up, down, and back to how it was made.
  function sortBy(heading) {
    const before = heading.getAttribute("aria-sort");
    for (const other of table.tHead.rows[0].cells) other.removeAttribute("aria-sort");
    const next = before === "ascending" ? "descending" : before === "descending" ? "" : "ascending";
    if (next) heading.setAttribute("aria-sort", next);
    const rows = next ? sorted(heading.cellIndex, heading.dataset.sort, next === "descending") : asMade;
    body.append(...rows);
  }

  for (const heading of table.tHead.rows[0].cells) {
    if (!COMPARE[heading.dataset.sort]) continue;
    const button = document.createElement("button");
    button.type = "button";
    button.append(...heading.childNodes);
    button.addEventListener("click", () => sortBy(heading));
    heading.append(button);
  }

  // Filtering.

  function contentOf(row) {
    if (!known.has(row)) {
      const written = Array.from(row.querySelectorAll(".figure"), (figure) => figure.textContent).join(" ");
      const cells = Array.from(row.cells, (cell) => (cell.querySelector(".figure") ? "" : cell.textContent));
      known.set(row, { words: fold([...cells, written].join(" ").replace(/\s+/g, " ")), values: valuesOf(written) });
    }
    return known.get(row);
  }

  // A one-sided reading is its written number only.
  function valuesOf(written) {
    const ranges = readQuery(written).ranges;
    const isOneSided = /^\s*(?:at least|at most|min|max|over|under|above|below|more|less|up to|no |not |[<>≤≥])/i.test(written);
    return isOneSided ? ranges.map((range) => ({ ...range, low: range.middle, high: range.middle })) : ranges;
  }

  function fits(row, query) {
    const content = contentOf(row);
    return query.words.every((word) => level(content.words, word)) && query.ranges.every((asked) =>
      content.values.some((value) => value.quantity === asked.quantity && closeness(asked, value.low, value.high) < 3));
  }

  function filter() {
    const query = readQuery(field.value);
    const isAll = !query.words.length && !query.ranges.length;
    let shown = 0;
    for (const row of asMade) {
      row.hidden = !isAll && !fits(row, query);
      if (!row.hidden) shown++;
    }
    say(isAll, shown);
    clearTimeout(later);
    later = setTimeout(keepAddress, 150);
  }

  function say(isAll, shown) {
    status.replaceChildren();
    if (isAll) return;
    status.append(`${shown.toLocaleString("en")} of ${asMade.length.toLocaleString("en")} shown.`);
    if (!document.querySelector(".sheets")) return;
    const everywhere = document.createElement("a");
    everywhere.href = `${root}search/index.html?kind=reading&q=${encodeURIComponent(field.value)}`;
    everywhere.textContent = "Search all sheets";
    status.append(" ", everywhere);
  }

  function keepAddress() {
    const query = field.value.trim() ? "?q=" + encodeURIComponent(field.value) : location.pathname.split("/").pop();
    history.replaceState(null, "", (query || "index.html") + location.hash);
  }

  let later = 0;
  const label = document.createElement("label");
  const field = document.createElement("input");
  label.htmlFor = field.id = "table-filter";
  label.textContent = "Show only lines with these words or this value";
  field.type = "search";
  field.autocomplete = "off";
  field.spellcheck = false;
  const box = document.createElement("div");
  box.append(label, field);
  tools.append(box);
  field.addEventListener("input", filter);
  field.value = new URLSearchParams(location.search).get("q") || "";
  if (field.value) filter();
})();
