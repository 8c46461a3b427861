"use strict";
// The search of the pocket file: what find.js finds, as links down the same page. Without it the file is read by its
// contents list.

(function () {
  const MOST = 30; // rows that are drawn
  const OF_ONE = 6; // of one part
  const MONTHS = "Jan Feb Mar Apr May Jun Jul Aug Sep Oct Nov Dec".split(" ");
  const TRY = "Try fewer words, the beginning of a word, or a size with its unit, such as 16 mm.";
  const [form, field, found, told, hits] = ["seek", "q", "found", "hits-status", "hits"].map((id) => document.getElementById(id));
  const search = window.journalFind(window.journalIndex);

  function element(name, className, ...inside) {
    const made = document.createElement(name);
    made.className = className;
    made.append(...inside);
    return made;
  }

  function link(content, url) {
    const made = element("a", "", content);
    made.href = url;
    return made;
  }

  function row(number) {
    const shown = search.shown(number);
    const struck = (text) => (shown.gone ? element("s", "", text) : text);
    const pieces = [link(struck(shown.title), shown.url), element("span", "hit-value", struck(shown.text)),
      element("span", "hit-date", sayDate(shown.date))];
    if (shown.gone) pieces.push(element("span", "hit-note why", shown.gone));
    if (shown.note) pieces.push(element("span", "hit-note remark", shown.note));
    return element("li", shown.gone ? "hit-row gone" : "hit-row", ...pieces.flatMap((piece) => [piece, " "]));
  }

  // `21 Mar 2026`, as the tables below have it, with spaces that no line breaks at.
  function sayDate(iso) {
    return iso ? `${Number(iso.slice(8))}\u00a0${MONTHS[Number(iso.slice(5, 7)) - 1]}\u00a0${iso.slice(0, 4)}` : "";
  }

  function hit(group) {
    const head = search.shown(group.head);
    const about = [head.state, head.place].filter(Boolean).join(" · ");
    const rows = search.ordered(group).filter((number) => number !== group.head).slice(0, OF_ONE).map(row);
    return element("li", "hit", element("p", "hit-head", link(head.title, head.url)), element("p", "hit-about", about),
      element("ul", "hit-rows", ...rows));
  }

  function near() {
    const queries = search.nearQueries(field.value);
    const buttons = queries.map((query) => {
      const made = element("button", "more", query);
      made.type = "button";
      made.addEventListener("click", () => { field.value = query; field.focus(); draw(); });
      return made;
    });
    return [element("li", "", ...(buttons.length ? ["Spelt nearly so: ", ...buttons] : [TRY]))];
  }

  function draw() {
    const result = search.find(field.value, {});
    found.hidden = !field.value.trim();
    told.textContent = result.count ? `${result.count.toLocaleString("en")} found.` : "Nothing found.";
    const items = [];
    for (let n = 0, rows = 0; n < result.groups.length && rows < MOST; n++) {
      items.push(hit(result.groups[n]));
      rows += 1 + Math.min(OF_ONE, result.groups[n].to - result.groups[n].from);
    }
    hits.replaceChildren(...(items.length || found.hidden ? items : near()));
  }

  form.hidden = false;
  form.addEventListener("submit", (event) => { event.preventDefault(); draw(); });
  field.addEventListener("input", draw);
  field.addEventListener("focus", draw);
  hits.addEventListener("click", (event) => { if (event.target.closest("a")) found.hidden = true; });
  document.addEventListener("keydown", (event) => { if (event.key === "Escape") found.hidden = true; });
})();
