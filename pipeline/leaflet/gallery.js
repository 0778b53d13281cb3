"use strict";
// Shows the cards that match what is written and chosen; what is written may stand anywhere on them, accents or none.
(() => {
  const form = document.querySelector(".choices");
  const cards = [...document.querySelectorAll(".card")];
  const said = form.querySelector(".found");
  const texts = JSON.parse(document.getElementById("found-texts").textContent);
  const search = document.getElementById("search");
  const chosen = [...form.querySelectorAll("select")];

  const plain = (text) =>
    text
      .normalize("NFKD")
      .replace(/[\p{M}\u2066-\u2069]+/gu, "")
      .toLocaleLowerCase(document.documentElement.lang);
  const held = new Map(cards.map((card) => [card, plain(`${card.textContent} ${card.dataset.more}`)]));
  const fits = {
    shape: (card, value) => card.dataset.shape === value,
    level: (card, value) => card.dataset.level === value,
    stitch: (card, value) => card.dataset.stitch.split(" ").includes(value),
    size: (card, value) => Number(card.dataset.size) <= Number(value),
  };

  const show = () => {
    const words = plain(search.value).split(/\s+/).filter(Boolean);
    let count = 0;
    for (const card of cards) {
      const matches =
        words.every((word) => held.get(card).includes(word)) &&
        chosen.every((choice) => !choice.value || fits[choice.id](card, choice.value));
      card.hidden = !matches;
      count += matches;
    }
    if (said.textContent !== texts[count]) said.textContent = texts[count];
  };

  form.addEventListener("submit", (event) => event.preventDefault());
  for (const kind of ["input", "change"]) form.addEventListener(kind, show);
  window.addEventListener("pageshow", show);
  form.hidden = false;
  show();
})();
