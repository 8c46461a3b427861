"use strict";
// The search page: what is typed and clicked stands in the address, what is found is drawn, some twenty rows at a time.
// Every word from the notes goes in as text, never as markup.

(function () {
  const field = document.getElementById("q");
  const hits = document.getElementById("hits");
  const status = document.getElementById("hits-status");
  const facetBox = document.getElementById("facets");
  if (!field || !hits || !window.journalIndex) return;

  const ROWS_AT_ONCE = 20;
  const ROWS_WHILE_TYPING = 4; // what a phone shows above its keys; the rest follows when the fingers rest
  const ROWS_OF_ONE = 8; // of one group, where there are others
  const VALUES_OF_ONE = 12; // of one facet
  const LABELS = { kind: "What", side: "Side", place: "Place", state: "State" };
  const MONTHS = "January February March April May June July August September October November December".split(" ");
  const TRY = "Try fewer words, the beginning of a word, or a size with its unit, such as 16 mm.";
  const ONE = { reading: "measurement", photo: "picture" }; // of the kinds that are called otherwise
  const HINT = "Type a word, or a size with its unit: 16 mm, 5/8 in, 20 to 25 mm.";
  const kindWords = new Map(window.journalIndex.kinds.map((kind, n) => [kind, window.journalIndex.kindWords[n]]));
  const { fold, level } = window.journalQuery;
  const search = window.journalFind(window.journalIndex);
  const root = (field.form && field.form.dataset.root) || "../";
  const more = element("button", "more", "Show more");
  more.type = "button";
  more.addEventListener("click", drawMore);
  hits.after(more);

  let chosen = {};
  let result = null;
  let next = { group: 0, row: 0, item: null };
  let rowsDrawn = 0;
  let later = 0;

  // Small pieces.

  function element(name, className, text) {
    const made = document.createElement(name);
    if (className) made.className = className;
    if (text) made.textContent = text;
    return made;
  }

  function link(text, url) {
    const made = element("a");
    made.append(text);
    const [path, fragment] = url.split("#");
    made.href = root + path.split("/").map(encodeURIComponent).join("/") +
      (fragment ? "#" + encodeURIComponent(fragment) : "");
    return made;
  }

  // With spaces that no line breaks at.
  function sayDate(iso) {
    return iso ? `${Number(iso.slice(8))}\u00a0${MONTHS[Number(iso.slice(5, 7)) - 1]}\u00a0${iso.slice(0, 4)}` : "";
  }

  // The words of a long text round the first that was looked for.
  function snippet(text) {
    const words = text.split(" ");
    if (words.length <= 32) return text;
    const asked = result.query.words;
    const at = Math.max(0, words.findIndex((word) => asked.some((one) => level(fold(word), one))));
    const start = Math.max(0, Math.min(at - 8, words.length - 32));
    return (start ? "… " : "") + words.slice(start, start + 32).join(" ") + (start + 32 < words.length ? " …" : "");
  }

  // A text with every word marked that was looked for. In one element, as a link lays out what is in it side by side.
  function marked(text) {
    const asked = result.query.words;
    const made = element("span");
    text.split(" ").forEach((word, n) => {
      const [, plain, sign] = /^(.*?)([,.;:]*)$/s.exec(word);
      const isIt = asked.length && asked.some((one) => level(fold(plain), one));
      made.append(n ? " " : "", isIt ? element("mark", "", plain) : plain, sign);
    });
    return made;
  }

  function wrapped(name, className, content) {
    const made = element(name, className);
    made.append(content);
    return made;
  }

  function textOf(name, className, text) {
    return wrapped(name, className, marked(snippet(text)));
  }

  function struckOut(content) {
    return wrapped("s", "", content);
  }

  // What was found.

  function drawHead(group) {
    const head = search.shown(group.head);
    const item = element(hits.tagName === "DIV" ? "div" : "li", "hit");
    const title = element("h2", "hit-head");
    title.append(link(marked(head.title), head.url));
    item.append(title);
    const isPart = head.kind === "part"; // many things happened to it: no one day is its own
    const kind = isPart ? "" : ONE[head.kind] || head.kind;
    const about = [kind, head.state, head.place, isPart ? "" : sayDate(head.date)].filter(Boolean).join(" · ");
    if (about) item.append(element("p", "hit-about", about));
    if (search.ordered(group).includes(group.head)) {
      if (head.text) item.append(textOf("p", "hit-text", head.text));
      if (head.note) item.append(textOf("p", "hit-text remark", head.note));
    }
    hits.append(item);
    return item;
  }

  function drawRow(list, row) {
    const shown = search.shown(row);
    const item = element("li", "hit-row");
    const struck = (text) => (shown.gone ? struckOut(text) : text);
    item.append(link(struck(marked(shown.title || shown.kind)), shown.url));
    if (shown.text) item.append(" ", wrapped("span", "hit-value", struck(marked(snippet(shown.text)))));
    if (shown.date) item.append(" ", element("span", "hit-date", sayDate(shown.date)));
    if (shown.gone) item.append(" ", textOf("span", "hit-note why", shown.gone));
    if (shown.note) item.append(" ", textOf("span", "hit-note remark", shown.note));
    if (shown.gone) item.classList.add("gone");
    list.append(item);
  }

  // The members of the group that is being drawn, as many as there is room for; gives how many were drawn.
  function drawMembers(group, room) {
    const members = search.ordered(group).filter((row) => row !== group.head);
    const alone = result.groups.length === 1;
    const most = alone ? members.length : Math.min(members.length, ROWS_OF_ONE);
    const end = Math.min(most, next.row + room);
    const start = next.row;
    const list = next.item.querySelector(".hit-rows") || element("ul", "hit-rows");
    for (const row of members.slice(start, end)) drawRow(list, row);
    if (end) next.item.append(list);
    next.row = end;
    if (end === most) {
      if (most < members.length) next.item.append(moreOfIt(group, members.length - most));
      next = { group: next.group + 1, row: 0, item: null };
    }
    return end - start;
  }

  function moreOfIt(group, left) {
    const line = element("p", "hit-more");
    line.append(link(`${left.toLocaleString("en")} more on its page`, search.shown(group.head).url));
    return line;
  }

  function drawRows(room) {
    while (room > 0 && next.group < result.groups.length) {
      const group = result.groups[next.group];
      let drawn = 0;
      if (!next.item) {
        next.item = drawHead(group);
        drawn = 1;
      }
      drawn += drawMembers(group, room - drawn);
      room -= drawn;
      rowsDrawn += drawn;
    }
    more.hidden = next.group >= result.groups.length;
  }

  // The next rows, and the focus on the first of them.
  function drawMore() {
    const before = hits.querySelectorAll("a").length;
    drawRows(ROWS_AT_ONCE);
    const first = hits.querySelectorAll("a")[before];
    if (first) first.focus();
  }

  function drawNothing() {
    const item = element(hits.tagName === "DIV" ? "div" : "li", "hit-near");
    const near = search.nearQueries(field.value);
    item.append(near.length ? "Spelt nearly so: " : TRY);
    near.forEach((query, n) => {
      const offered = element("a", "", query);
      offered.href = address(query, chosen);
      offered.addEventListener("click", (event) => {
        event.preventDefault();
        field.value = query;
        field.focus();
        update();
      });
      item.append(n ? ", " : "", offered);
    });
    if (Object.keys(chosen).length) {
      const clear = element("button", "hit-clear", "Look everywhere, without what was clicked");
      clear.type = "button";
      clear.addEventListener("click", () => {
        chosen = {};
        field.focus();
        update();
      });
      item.append(" ", clear);
    }
    hits.append(item);
  }

  // What can be clicked.

  function drawFacets() {
    if (!facetBox) return;
    const focused = document.activeElement && document.activeElement.dataset.facet;
    const counts = search.counts(field.value, chosen);
    facetBox.replaceChildren(...Object.keys(LABELS).map((name) => drawFacet(name, counts[name])).filter(Boolean));
    if (facetBox.parentElement.matches("details")) facetBox.parentElement.hidden = !facetBox.childElementCount;
    const again = focused && Array.from(facetBox.querySelectorAll("button")).find((one) => one.dataset.facet === focused);
    if (again) again.focus();
  }

  function drawFacet(name, numbers) {
    const counts = new Map();
    numbers.forEach((count, n) => {
      if (count && search.values[name][n]) counts.set(search.values[name][n], count);
    });
    const choices = name === "place" ? places(counts) : others(name, counts);
    if (!choices.length || (choices.length === 1 && !chosen[name])) return null;
    const box = element("fieldset", "facet");
    box.append(element("legend", "", LABELS[name]));
    for (const choice of choices) box.append(facetButton(name, choice));
    return box;
  }

  function others(name, counts) {
    if (chosen[name] && !counts.has(chosen[name])) counts.set(chosen[name], 0);
    const order = name === "kind" ? Array.from(kindWords.keys()) : null;
    const sorted = Array.from(counts).sort(order ? (a, b) => order.indexOf(a[0]) - order.indexOf(b[0])
      : (a, b) => b[1] - a[1] || (a[0] < b[0] ? -1 : 1));
    return sorted.slice(0, VALUES_OF_ONE).map(([value, count]) => ({ value, count, isChosen: value === chosen[name],
      text: name === "kind" ? kindWords.get(value) : value, back: "" }));
  }

  // The path that was chosen, a step a button, then the places one step below it.
  function places(counts) {
    const path = chosen.place ? chosen.place.split(" / ") : [];
    const steps = path.map((text, n) => ({ value: path.slice(0, n + 1).join(" / "), text, isChosen: true,
      back: path.slice(0, n).join(" / ") }));
    for (const step of steps) step.count = within(counts, step.value);
    const before = chosen.place ? chosen.place + " / " : "";
    const below = onePathDown(Array.from(counts.keys()).filter((place) => place.startsWith(before)), before);
    const sorted = below.map((value) => ({ value, count: within(counts, value), isChosen: false,
      text: value.slice(before.length), back: "" }));
    sorted.sort((a, b) => b.count - a.count || (a.value < b.value ? -1 : 1));
    return steps.concat(sorted.slice(0, VALUES_OF_ONE));
  }

  function within(counts, path) {
    let sum = 0;
    for (const [place, count] of counts) if (place === path || place.startsWith(path + " / ")) sum += count;
    return sum;
  }

  // The paths one step below `before`; where there is only one way to go, the steps below that.
  function onePathDown(places, before) {
    const paths = Array.from(new Set(places.map((place) => before + place.slice(before.length).split(" / ")[0])));
    const deeper = places.filter((place) => place !== paths[0]);
    return paths.length === 1 && deeper.length === places.length && places.length ? onePathDown(places, paths[0] + " / ") : paths;
  }

  function facetButton(name, choice) {
    const button = element("button", "facet-choice", choice.text + " ");
    button.type = "button";
    button.dataset.facet = name + "=" + choice.value;
    button.setAttribute("aria-pressed", String(choice.isChosen));
    button.append(element("span", "facet-count", choice.count.toLocaleString("en")));
    button.addEventListener("click", () => {
      chosen = { ...chosen, [name]: choice.isChosen ? choice.back : choice.value };
      if (!chosen[name]) delete chosen[name];
      update();
      clearTimeout(later);
      drawRest();
    });
    return button;
  }

  // The address, and everything in order.

  function address(query, facets) {
    const parameters = new URLSearchParams();
    if (query) parameters.set("q", query);
    for (const name of Object.keys(LABELS)) if (facets[name]) parameters.set(name, facets[name]);
    const text = parameters.toString();
    return text ? "?" + text : location.pathname.split("/").pop() || "index.html";
  }

  function readAddress() {
    const parameters = new URLSearchParams(location.search);
    field.value = parameters.get("q") || "";
    chosen = {};
    for (const name of Object.keys(LABELS)) if (parameters.get(name)) chosen[name] = parameters.get(name);
  }

  function say() {
    const isIdle = !field.value.trim() && !Object.keys(chosen).length;
    const found = result.count === 1 ? "1 found." : `${result.count.toLocaleString("en")} found.`;
    const text = isIdle ? HINT : result.count ? found : "Nothing found.";
    if (status && status.textContent !== text) status.textContent = text;
  }

  // What can wait until the fingers rest.
  function drawRest() {
    history.replaceState(null, "", address(field.value, chosen));
    drawRows(ROWS_AT_ONCE - rowsDrawn);
    drawFacets();
    if (!result.count && field.value.trim()) drawNothing();
  }

  function update() {
    result = search.find(field.value, chosen);
    next = { group: 0, row: 0, item: null };
    rowsDrawn = 0;
    hits.replaceChildren();
    drawRows(ROWS_WHILE_TYPING);
    say();
    clearTimeout(later);
    later = setTimeout(drawRest, 150);
  }

  field.addEventListener("input", update);
  window.addEventListener("popstate", () => { readAddress(); update(); });
  if (field.form) field.form.addEventListener("submit", (event) => { event.preventDefault(); update(); });
  readAddress();
  update();
  // Before anybody types, a look at every first letter, a few milliseconds each, between all else.
  function warm(signs) {
    const rest = window.requestIdleCallback || ((work) => setTimeout(work, 20));
    if (signs.length) rest(() => { if (!field.value && !result.groups.length) search.find(signs[0], {}); warm(signs.slice(1)); });
  }

  setTimeout(() => warm(search.firstSigns()), 300);
})();
