"use strict";
// Goes on to the language the reader's browser asks for first; where none is there, the links are for choosing.
(() => {
  const links = [...document.querySelectorAll("a[hreflang]")].sort((a, b) => a.hreflang.length - b.hreflang.length);
  const wide = (tag) => {
    try {
      const whole = new Intl.Locale(tag).maximize();
      return `${whole.language}-${whole.script}`;
    } catch {
      return "";
    }
  };
  const found = (tag) =>
    links.find((link) => link.hreflang.toLowerCase() === tag.toLowerCase()) ??
    links.find((link) => wide(tag) && wide(link.hreflang) === wide(tag));
  const best = (navigator.languages ?? [navigator.language]).map(found).find(Boolean);
  if (best) location.replace(best.href);
})();
