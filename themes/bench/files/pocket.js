"use strict";
// The search of the pocket file: what find.js finds, as links down the same page. Without it the file is read by its
// contents list.

(function () {
  const MOST = 30; // rows that are drawn
  const OF_ONE = 6; // of one part
  const [form, field, found, told, hits] = ["seek", "q", "found", "hits-status", "hits"].map((id) => document.getElementById(id));
  const search = window.journalFind(window.journalIndex);

  function element(name, className, ...inside) {
    const made = document.createElement(name);
    made.className = className;
    made.append(...inside);
    return made;
  }

  function link(text, url) {
    const made = element("a", "", text);
    made.href = url;
    return made;
  }

  function row(number) {
    const shown = search.shown(number);
    return element("li", "hit-row", link(shown.title, shown.url), " ", element("span", "hit-value", shown.text));
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
    return buttons.length ? [element("li", "", "Spelt nearly so: ", ...buttons)] : [];
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
