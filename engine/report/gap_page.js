"use strict";
// Filter and search. Without this script the page shows everything and the bar stays hidden.
(() => {
  const bar = document.getElementById("filter");
  const words = document.getElementById("words");
  const status = document.getElementById("status");
  const place = document.getElementById("place");
  const found = document.getElementById("found");
  const items = [...document.querySelectorAll("tr.line, [data-find]")].map((element) => {
    const at = element.closest("[data-place]");
    return {
      element,
      text: null,  // read when it is first asked for
      status: element.dataset.status || "",
      stops: element.classList.contains("stops"),
      place: at ? at.dataset.place : "",
    };
  });
  const groups = [...document.querySelectorAll("table.lines, article.panel, details.fold, section")];
  const sections = [...document.querySelectorAll("main > section")];
  const folds = [...document.querySelectorAll("details.fold")];
  const rows = items.filter((item) => item.status !== "").length;

  const passes = (item, wanted) => {
    if (status.value === "stops" ? !item.stops : status.value !== "" && item.status !== status.value) return false;
    if (place.value !== "" && item.place !== place.value) return false;
    if (wanted.length === 0) return true;
    if (item.text === null) item.text = (item.element.textContent + " " + item.place.replaceAll(".", " ")).toLowerCase();
    return wanted.every((word) => item.text.includes(word));
  };

  // Rows that come back are laid out anew, a thousand of them for half a second: the first are there at once, the
  // others follow frame by frame.
  const atOnce = 200;
  let waiting = [];
  let next = 0;
  const show = (several) => {
    for (const item of several) item.element.classList.remove("away");
  };
  const showNext = () => {
    show(waiting.splice(0, atOnce));
    if (waiting.length !== 0) next = requestAnimationFrame(showNext);
  };
  const showRest = () => show(waiting.splice(0));
  addEventListener("beforeprint", showRest);

  let filtered = false;
  const apply = () => {
    const wanted = words.value.toLowerCase().split(/\s+/).filter((word) => word !== "");
    const any = wanted.length !== 0 || status.value !== "" || place.value !== "";
    if (!any && !filtered) return;
    filtered = any;
    let shown = 0;
    cancelAnimationFrame(next);
    waiting = [];
    const leaving = [];
    const groupsLeft = new Set();
    for (const item of items) {
      const stays = passes(item, wanted);
      if (stays && item.status !== "") shown += 1;
      if (stays) for (let group = item.element.parentElement; group; group = group.parentElement) groupsLeft.add(group);
      if (stays !== item.element.classList.contains("away")) continue;
      (stays ? waiting : leaving).push(item);
    }
    // Out of the page while many rows go: taken out one by one a thousand folded rows cost half a second.
    const top = scrollY;
    if (leaving.length > atOnce) {
      for (const section of sections) section.style.display = "none";
      document.body.getBoundingClientRect();
    }
    for (const item of leaving) item.element.classList.add("away");
    showNext();
    for (const group of groups) group.classList.toggle("away", any && !groupsLeft.has(group));
    // What is folded away is shown while something is looked for.
    for (const fold of folds) {
      if (any && !fold.open) {
        fold.open = true;
        fold.dataset.opened = "";
      } else if (!any && "opened" in fold.dataset) {
        fold.open = false;
        delete fold.dataset.opened;
      }
    }
    for (const section of sections) section.style.display = "";
    scrollTo({ top, behavior: "instant" });
    found.textContent = any ? `${shown} of ${rows} rows` : "";
  };

  let asked = 0;
  const soon = () => {
    cancelAnimationFrame(asked);
    asked = requestAnimationFrame(apply);
  };
  words.addEventListener("input", soon);
  status.addEventListener("change", soon);
  place.addEventListener("change", soon);
  words.addEventListener("keydown", (event) => {
    if (event.key !== "Escape") return;
    words.value = "";
    apply();
  });

  // A link to a line opens what it is folded into, and its own why.
  const reveal = () => {
    const target = document.getElementById(decodeURIComponent(location.hash.slice(1)));
    if (!target) return;
    showRest();
    for (let element = target.parentElement; element; element = element.parentElement) {
      if (element.tagName === "DETAILS") element.open = true;
    }
    const own = target.querySelector("details");
    if (own) own.open = true;
    target.scrollIntoView({ block: "center" });
  };
  addEventListener("hashchange", reveal);
  bar.hidden = false;
  apply();
  if (location.hash !== "") reveal();
})();
