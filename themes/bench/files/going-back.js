"use strict";
// The boxes of the page Going back: kept in this browser, one store a build; what is ticked comes out as slips.
// A tick is kept under the step and the day its part came off, so that it is gone once that changes.

(function () {
  const page = document.getElementById("ticks");
  if (!page) return;
  const name = "journal-ticks-" + page.dataset.store;
  const steps = Array.from(page.querySelectorAll(".step"));
  const box = (step) => step.querySelector("input[type=checkbox]");
  const out = document.getElementById("export");
  const text = document.getElementById("slips-text");
  const copied = document.getElementById("copied");

  function read() {
    try {
      const kept = JSON.parse(window.localStorage.getItem(name) || "[]");
      return new Set(Array.isArray(kept) ? kept : []);
    } catch (fault) {
      return new Set(); // no store here, or not ours: the boxes still work for this visit
    }
  }

  function keep(keys) {
    try {
      window.localStorage.setItem(name, JSON.stringify(keys));
    } catch (fault) {
      copied.textContent = "This browser keeps no ticks: copy the slips before you leave.";
    }
  }

  function ticked() {
    return steps.filter((step) => box(step).checked);
  }

  function show() {
    const done = ticked();
    for (const step of steps) step.classList.toggle("done", box(step).checked);
    out.hidden = done.length === 0;
    text.value = done.map((step) => step.dataset.slip).join("\n");
  }

  function change() {
    copied.textContent = "";
    keep(ticked().map((step) => step.dataset.key));
    show();
  }

  async function copy() {
    try {
      await navigator.clipboard.writeText(text.value);
      copied.textContent = "Copied.";
    } catch (fault) {
      text.focus();
      text.select();
      copied.textContent = "Marked: copy it with the keyboard or a long press.";
    }
  }

  const kept = read();
  for (const step of steps) {
    box(step).checked = kept.has(step.dataset.key);
    box(step).addEventListener("change", change);
  }
  document.getElementById("copy").addEventListener("click", copy);
  document.getElementById("clear").addEventListener("click", () => {
    for (const step of steps) box(step).checked = false;
    change();
    steps[0].querySelector("input").focus();
  });
  document.getElementById("ticks-told").hidden = false;
  show();
})();
