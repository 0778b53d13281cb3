"use strict";
// Ticks are kept in the reader's browser, by pattern and edition; without storage they last as long as the page.
(() => {
  const place = "spokeleaf/" + document.body.dataset.ticks;
  const boxes = [...document.querySelectorAll("input[data-step]")];
  const done = document.querySelector("progress");
  const clear = document.querySelector(".clear button");

  const kept = () => {
    try {
      return [].concat(JSON.parse(localStorage.getItem(place)) ?? []);
    } catch {
      return [];
    }
  };
  const keep = (steps) => {
    try {
      if (steps.length) localStorage.setItem(place, JSON.stringify(steps));
      else localStorage.removeItem(place);
    } catch {
      // A browser that keeps nothing.
    }
  };
  const count = () => {
    const ticked = boxes.filter((box) => box.checked);
    done.value = ticked.length;
    return ticked.map((box) => box.dataset.step);
  };
  const show = (steps) => {
    for (const box of boxes) box.checked = steps.includes(box.dataset.step);
    count();
  };

  for (const box of boxes) box.addEventListener("change", () => keep(count()));
  clear?.addEventListener("click", () => {
    show([]);
    keep([]);
  });
  window.addEventListener("storage", (event) => {
    if (event.key === place || event.key === null) show(kept());
  });
  show(kept());
  for (const part of document.querySelectorAll(".ticks, .clear")) part.hidden = false;
})();
