"use strict";
// A picture full screen, with its dimension lines: pinch, wheel, double tap and keys make it larger, a swipe or an
// arrow key turns to the next one of the page. Without this script the picture is a link to its large size.

(function () {
  const MOST = 8; // times the size at which the whole picture fits
  const TAPPED = 2.5; // what a double tap makes it
  const STEP = 1.5; // of a key or a button
  const STILL = 10; // px that a finger may slip and still tap
  const SWIPE = 50; // px
  const DOUBLE = 350; // ms
  if (!document.querySelector(".plate a.full") || !window.HTMLDialogElement) return;

  // What the view is made of.

  function element(name, className, ...inside) {
    const made = document.createElement(name);
    made.className = className;
    made.append(...inside);
    return made;
  }

  function button(words, act) {
    const made = element("button", "", words);
    made.type = "button";
    made.addEventListener("click", act);
    return made;
  }

  // A button that can do no more just now. It keeps the focus: a button that goes out takes the keys with it.
  function idle(one, yes) {
    one.setAttribute("aria-disabled", String(yes));
  }

  const told = element("p", "viewing-told");
  const close = button("Close", () => view.close());
  const before = button("Before", () => turn(-1));
  const after = button("Next", () => turn(1));
  const smaller = button("Smaller", () => zoom(1 / STEP));
  const whole = button("Whole", () => fit());
  const larger = button("Larger", () => zoom(STEP));
  const plate = element("div", "viewing-plate");
  const stage = element("div", "viewing-stage", plate);
  const view = element("dialog", "viewing", element("div", "viewing-head", told, close), stage,
    element("div", "viewing-foot", before, smaller, whole, larger, after));
  told.setAttribute("role", "status");
  document.body.append(view);

  let links = []; // to the pictures of the page, each once
  let shown = 0;
  let size = { width: 1, height: 1 }; // of the whole picture as it fits
  let scale = 1;
  let at = { x: 0, y: 0 }; // where its upper left corner stands on the stage

  // Opening, turning over, closing. An entry of the history stands for the open view, so that "back" closes it.

  function pictures() {
    const seen = new Set();
    return Array.from(document.querySelectorAll(".plate a.full")).filter((link) =>
      link.getClientRects().length && !seen.has(link.href) && seen.add(link.href));
  }

  function open(link) {
    links = pictures();
    const number = links.findIndex((one) => one.href === link.href);
    history.scrollRestoration = "manual"; // closing leads to the picture seen last, not to where the page was left
    history.pushState({ viewing: number }, "");
    show(number);
  }

  function show(number) {
    if (!view.open) view.showModal();
    shown = number;
    const figure = links[shown].closest("figure");
    const said = figure.querySelector("figcaption .said, figcaption .shows") || figure.querySelector("figcaption .name");
    const count = `${shown + 1} of ${links.length}`;
    view.setAttribute("aria-label", `Picture ${count}`);
    told.replaceChildren(element("b", "figure", count), " " + (said ? said.textContent : ""));
    idle(before, shown === 0);
    idle(after, shown === links.length - 1);
    before.hidden = after.hidden = links.length === 1;
    const lines = figure.querySelector("svg.lines");
    plate.replaceChildren(picture(links[shown]), ...(lines ? [lines.cloneNode(true)] : []));
    fit();
  }

  // The picture as the page has it, then the large one as soon as it is there; offline it may never be.
  function picture(link) {
    const small = link.querySelector("img");
    const made = document.createElement("img");
    made.alt = small.alt;
    made.draggable = false;
    made.width = small.width;
    made.src = small.currentSrc || small.src;
    made.dataset.size = `${small.getAttribute("width")} ${small.getAttribute("height")}`;
    const large = new Image();
    large.addEventListener("load", () => { made.src = large.src; });
    large.src = link.href;
    return made;
  }

  function turn(step) {
    const number = shown + step;
    if (number < 0 || number >= links.length) return draw();
    history.replaceState({ viewing: number }, "");
    return show(number);
  }

  view.addEventListener("close", () => {
    plate.replaceChildren();
    if (history.state && history.state.viewing !== undefined) history.back();
    else focusShown();
  });

  function focusShown() {
    history.scrollRestoration = "auto";
    if (links[shown]) links[shown].focus();
  }

  function readHistory() {
    const number = history.state ? history.state.viewing : undefined;
    if (number === undefined) {
      if (view.open) view.close();
      else if (links.length) focusShown();
      return;
    }
    links = pictures();
    if (links[number]) show(number);
  }

  // Size and place.

  function room() {
    return { width: stage.clientWidth, height: stage.clientHeight };
  }

  function fit() {
    const [width, height] = plate.firstChild.dataset.size.split(" ").map(Number);
    const space = room();
    const share = Math.min(space.width / width, space.height / height);
    size = { width: width * share, height: height * share };
    scale = 1;
    plate.style.setProperty("width", `${size.width}px`);
    plate.style.setProperty("height", `${size.height}px`);
    draw();
  }

  // Middle of the stage where it is smaller, no gap at its edges where it is larger.
  function kept(place, length, space) {
    return length <= space ? (space - length) / 2 : Math.min(0, Math.max(space - length, place));
  }

  function draw(slip = 0) {
    const space = room();
    at = { x: kept(at.x, size.width * scale, space.width), y: kept(at.y, size.height * scale, space.height) };
    plate.style.setProperty("transform", `translate(${at.x + slip}px, ${at.y}px) scale(${scale})`);
    for (const one of [smaller, whole]) idle(one, scale === 1);
    idle(larger, scale === MOST);
  }

  // Makes it so many times as large round a point of the stage that stays where it is; else round its middle.
  function zoom(times, x = stage.clientWidth / 2, y = stage.clientHeight / 2) {
    const wanted = Math.min(MOST, Math.max(1, scale * times));
    const real = wanted / scale;
    at = { x: x - (x - at.x) * real, y: y - (y - at.y) * real };
    scale = wanted;
    draw();
  }

  function move(x, y) {
    at = { x: at.x + x, y: at.y + y };
    draw();
  }

  // Fingers and the mouse.

  const fingers = new Map();
  let start = null; // of a touch by one finger: where, and whether another came to it
  let lastTap = { time: -Infinity, x: 0, y: 0 }; // a page counts from when it was opened

  function place(event) {
    const box = stage.getBoundingClientRect();
    return { x: event.clientX - box.left, y: event.clientY - box.top };
  }

  function pair() {
    const [a, b] = Array.from(fingers.values());
    return { x: (a.x + b.x) / 2, y: (a.y + b.y) / 2, apart: Math.hypot(a.x - b.x, a.y - b.y) || 1 };
  }

  stage.addEventListener("pointerdown", (event) => {
    if (event.button) return;
    fingers.set(event.pointerId, place(event));
    if (fingers.size === 1) start = { ...place(event), alone: true, link: event.target.closest("a") };
    else if (start) start.alone = false;
    if (!start.link) stage.setPointerCapture(event.pointerId);
  });

  stage.addEventListener("pointermove", (event) => {
    const last = fingers.get(event.pointerId);
    if (!last) return;
    const now = place(event);
    const old = fingers.size === 2 ? pair() : null;
    fingers.set(event.pointerId, now);
    if (old) pinch(old, pair());
    else if (scale > 1) move(now.x - last.x, now.y - last.y);
    else if (start.alone) draw(now.x - start.x);
  });

  function pinch(old, now) {
    zoom(now.apart / old.apart, old.x, old.y);
    move(now.x - old.x, now.y - old.y);
  }

  stage.addEventListener("pointerup", (event) => {
    if (!fingers.delete(event.pointerId) || fingers.size) return;
    const now = place(event);
    const slip = { x: now.x - start.x, y: now.y - start.y };
    if (start.alone && Math.hypot(slip.x, slip.y) < STILL) tap(event, now);
    else if (start.alone && scale === 1 && Math.abs(slip.x) > SWIPE) turn(slip.x < 0 ? 1 : -1);
    else draw();
  });

  stage.addEventListener("pointercancel", (event) => {
    fingers.delete(event.pointerId);
    draw();
  });

  function tap(event, now) {
    draw();
    if (start.link) return;
    const isDouble = event.timeStamp - lastTap.time < DOUBLE && Math.hypot(now.x - lastTap.x, now.y - lastTap.y) < 3 * STILL;
    lastTap = { time: isDouble ? -Infinity : event.timeStamp, ...now };
    if (isDouble) zoom(scale > 1 ? 1 / scale : TAPPED, now.x, now.y);
  }

  stage.addEventListener("wheel", (event) => {
    event.preventDefault();
    const now = place(event);
    const lines = event.deltaMode ? 30 : 1;
    zoom(Math.exp(-event.deltaY * lines * (event.ctrlKey ? 0.01 : 0.002)), now.x, now.y);
  }, { passive: false });

  // Keys.

  const KEYS = {
    "+": () => zoom(STEP), "=": () => zoom(STEP), "-": () => zoom(1 / STEP), "0": () => fit(),
    ArrowLeft: () => turn(-1), ArrowRight: () => turn(1),
  };
  const PANS = { ArrowLeft: [60, 0], ArrowRight: [-60, 0], ArrowUp: [0, 60], ArrowDown: [0, -60] };

  view.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const pan = PANS[event.key];
    const act = pan && (event.shiftKey || pan[1]) ? () => move(...pan) : KEYS[event.key];
    if (!act) return;
    event.preventDefault();
    act();
  });

  document.addEventListener("click", (event) => {
    const link = event.target.closest(".plate a.full");
    if (!link || event.button || event.ctrlKey || event.metaKey || event.shiftKey || event.altKey) return;
    event.preventDefault();
    open(link);
  });

  window.addEventListener("popstate", readHistory);
  window.addEventListener("resize", () => { if (view.open) fit(); });
  if (history.state && history.state.viewing !== undefined) readHistory();
})();
