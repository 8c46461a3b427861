"use strict";
// Where the site comes from a server, the browser is asked to keep it; from a folder it is at hand anyway, and nothing
// is asked. A reader who saves data is not sent a whole build.

(function () {
  const { protocol, hostname } = location;
  const isHere = ["127.0.0.1", "localhost", "[::1]"].includes(hostname);
  if (protocol !== "https:" && !(protocol === "http:" && isHere)) return;
  const root = new URL("../", document.currentScript.src);

  function element(name, className, text) {
    const made = document.createElement(name);
    made.className = className;
    made.textContent = text;
    return made;
  }

  // From a folder a browser complains about a manifest, so pages do not name it themselves.
  const manifest = element("link", "", "");
  manifest.rel = "manifest";
  manifest.href = new URL("build.webmanifest", root).href;
  document.head.append(manifest);

  const worker = navigator.serviceWorker;
  if (!worker || (navigator.connection && navigator.connection.saveData)) return;
  const note = element("div", "newer", "");
  note.setAttribute("role", "status");

  function tellOf(registration) {
    const told = element("p", "", "A newer version of this site is here. ");
    const show = element("button", "more", "Show it");
    show.type = "button";
    show.addEventListener("click", () => {
      worker.addEventListener("controllerchange", () => location.reload());
      (registration.waiting || registration.active).postMessage("take over");
    });
    told.append(show);
    note.replaceChildren(told);
  }

  // The first build that is kept is the one on the screen; each later one is told of when it is here whole.
  function watch(registration) {
    document.body.append(note);
    if (registration.waiting && worker.controller) tellOf(registration);
    registration.addEventListener("updatefound", () => {
      const coming = registration.installing;
      coming.addEventListener("statechange", () => {
        if (coming.state === "installed" && worker.controller) tellOf(registration);
      });
    });
  }

  function ask() {
    const options = { scope: root.pathname, updateViaCache: "none" };
    worker.register(new URL("offline-worker.js", root), options).then(watch, () => {}); // no place to keep it: no matter
  }

  if (document.readyState === "complete") ask();
  else window.addEventListener("load", ask);
})();
