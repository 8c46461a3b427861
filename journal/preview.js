"use strict";
// Put into every page by `journal preview`: asks for news of the page, loads it anew once it has changed, and says at
// the foot of the window what was found and what could not be made.

(function () {
  const { page, number, fault, told } = document.currentScript.dataset;
  const bar = document.createElement("aside");
  const words = document.createElement("p");
  const next = document.createElement("button");
  let seen = number;
  let at = -1;
  bar.id = "preview";
  bar.setAttribute("aria-label", "Preview");
  words.setAttribute("role", "status");
  next.type = "button";
  bar.append(words, next);
  document.body.append(bar);

  const findings = () => Array.from(document.querySelectorAll(".finding"));

  function tell(news) {
    bar.className = news.fault ? "fault" : "";
    words.textContent = news.fault || news.told;
    const here = findings().length;
    next.hidden = here === 0;
    next.textContent = here + " on this page";
  }

  next.addEventListener("click", () => {
    const all = findings();
    at = (at + 1) % all.length;
    all[at].tabIndex = -1;
    all[at].focus();
    all[at].scrollIntoView({ block: "center" });
  });

  const pause = (time) => new Promise((done) => setTimeout(done, time));

  async function listen() {
    for (;;) {
      try {
        const asked = "/.preview/news?" + new URLSearchParams({ page, seen });
        const answer = await fetch(asked, { cache: "no-store" });
        if (!answer.ok) throw new Error(answer.statusText);
        const news = await answer.json();
        if (news.reload) return location.reload();
        seen = news.number;
        tell(news);
      } catch (gone) {
        tell({ fault: "The preview has ended; start it again with journal preview." });
        await pause(2000);
      }
    }
  }

  tell({ fault, told });
  listen();
})();
