// Soft keys walk the screens. Without this script the keys are links along the page and every screen can be seen.
(() => {
  "use strict";
  const stage = document.getElementById("walk-stage");
  const said = document.getElementById("walk-said");
  const pace = document.getElementById("walk-pace");
  const home = document.getElementById(stage.dataset.home);
  let now = null;
  let busy = false;

  const show = (figure, text) => {
    if (now) now.classList.remove("now", "flash");
    figure.classList.add("now");
    now = figure;
    said.textContent = figure.dataset.title + ". " + text;
  };

  const follow = (link) => {
    const figure = document.getElementById(link.hash.slice(1));
    if (!figure || busy) return;
    const key = link.dataset.key;
    const held = stage.contains(document.activeElement);
    const arrive = () => {
      busy = false;
      stage.removeAttribute("aria-busy");
      show(figure, link.dataset.said || "");
      if (!held) return;
      const next = key && figure.querySelector('a[data-key="' + key + '"]');
      (next || figure.querySelector("a") || figure).focus({ preventScroll: true });
    };
    const seconds = Number(link.dataset.time);
    if (!pace.checked || !(seconds > 0)) return arrive();
    busy = true;
    stage.setAttribute("aria-busy", "true");
    said.textContent = "The panel is busy.";
    now.style.setProperty("--time", seconds + "s");
    if (link.dataset.mode === "full") now.classList.add("flash");
    setTimeout(arrive, seconds * 1000);
  };

  // A key that leads beyond the states of this page says so.
  const beyond = (key) => {
    if (key && !busy) said.textContent = "Key " + key.dataset.beyond + ": " + key.title + ".";
  };

  stage.addEventListener("click", (event) => {
    beyond(event.target.closest("[data-beyond]"));
    const link = event.target.closest("a");
    if (!link || !stage.contains(link)) return;
    event.preventDefault();
    follow(link);
  });
  document.getElementById("walk").addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.altKey || event.metaKey || !/^[0-9]$/.test(event.key)) return;
    const link = now.querySelector('a[data-key="' + event.key + '"]');
    if (!link) return beyond(now.querySelector('[data-beyond="' + event.key + '"]'));
    event.preventDefault();
    follow(link);
  });
  document.getElementById("walk-home").addEventListener("click", () => {
    if (!busy) show(home, "");
  });

  for (const figure of stage.querySelectorAll("figure")) figure.tabIndex = -1;
  // On paper nothing can be unfolded.
  window.addEventListener("beforeprint", () => {
    for (const part of document.querySelectorAll("details")) part.open = true;
  });
  document.documentElement.classList.add("script");
  show(home, "");
})();
