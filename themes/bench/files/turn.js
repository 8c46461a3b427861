"use strict";
// The page between two builds: the newer one, which waits whole, takes over, and the page that was asked for is then
// its own. Asked from here, where no answer of the older one is under way that the change could cut off; and asked
// again, because a browser lets the wish drop when the older one is not idle at that moment.

(function () {
  const worker = navigator.serviceWorker;
  const asking = window.setInterval(ask, 200);
  worker.addEventListener("controllerchange", turn);
  window.addEventListener("load", ask);

  async function ask() {
    const { waiting } = await worker.getRegistration();
    if (waiting) waiting.postMessage("take over");
    else if (!worker.controller || worker.controller.state !== "redundant") turn();
  }

  function turn() {
    window.clearInterval(asking);
    location.reload();
  }
})();
