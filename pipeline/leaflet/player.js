"use strict";
// Draws the way of the thread up to a stop of the slider, with the web as the rounds so far have drawn it aside. It moves
// by itself only when it is asked to, and not at all where the reader wants no motion.
(() => {
  const way = globalThis.spokeleafWay;
  const place = document.querySelector(".way");
  if (!way || !place) return;
  const texts = JSON.parse(document.getElementById("way-texts").textContent);
  const picture = place.querySelector(".loom");
  const slider = place.querySelector("[type=range]");
  const [named, used] = place.querySelector(".now").children;
  const play = place.querySelector(".play");
  const calm = matchMedia("(prefers-reduced-motion: reduce)");
  const SPEED = 4; // stops a second

  const stops = [];
  for (let at = 0; at < way.stops.length; at += 3) {
    const [part, drawn, locked] = way.stops.slice(at, at + 3);
    stops.push({ part, drawn, locked });
  }
  // The last stop of every part, and the beginning: between these the buttons leap.
  const ends = stops.map((stop, at) => at).filter((at) => !at || stops[at].part !== stops[at + 1]?.part);

  const add = (name, attributes) => {
    const made = document.createElementNS("http://www.w3.org/2000/svg", name);
    for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
    return picture.appendChild(made);
  };
  const pair = (letter, more) => {
    const { colour, edge, width } = way.threads[letter];
    return [
      add("path", { stroke: edge, "stroke-width": width, ...more }),
      add("path", { stroke: colour, "stroke-width": width * 0.72, ...more }),
    ];
  };

  const [x, y, across, down] = way.box;
  picture.setAttribute("viewBox", way.box.join(" "));
  add("rect", { class: "ground", x, y, width: across, height: down, rx: across / 50 });
  const rays = pair(way.web, {});
  const parts = way.parts.map(({ strokes }) => {
    let before = 0;
    return strokes.map(([letter, length, d]) => {
      const paths = pair(letter, { d, pathLength: length || 1, "stroke-dasharray": length || 1 });
      const stroke = { paths, length, before, whole: 0 };
      before += length;
      return stroke;
    });
  });
  const pins = way.pins.map((n, at) => (at % 2 ? "" : `M${n} ${way.pins[at + 1]}h0`)).join("");
  add("path", { class: "pins", d: pins, "stroke-width": across / 90 });
  const head = add("circle", { class: "end", r: across / 75 });

  // Where every ray is held when all parts before this one, and so many locks of it, are done.
  const web = (part, locked) => {
    const held = Array.from({ length: way.pins.length }, () => ["0 0"]);
    way.parts.slice(0, part + 1).forEach(({ locks }, at) => {
      const until = at < part ? locks.length : locked * 4;
      for (let n = 0; n < until; n += 4) held[locks[n]].splice(locks[n + 1], 0, `${locks[n + 2]} ${locks[n + 3]}`);
    });
    const pin = (ray) => `${way.pins[ray - (ray % 2)]} ${way.pins[ray - (ray % 2) + 1]}`;
    return held.map((places, ray) => `M${places.join("L")}L${pin(ray)}`).join("");
  };

  let woven = "";
  const draw = ({ part, drawn, locked }) => {
    const laid = part > 0 || drawn >= stops[ends[1]].drawn;
    if (laid && woven !== `${part}/${locked}`) {
      woven = `${part}/${locked}`;
      const d = web(part, locked);
      for (const path of rays) path.setAttribute("d", d);
    }
    for (const path of rays) path.toggleAttribute("hidden", !laid);
    parts.forEach((strokes, at) => {
      for (const stroke of strokes) {
        const far = at < part ? stroke.length : at > part ? 0 : Math.min(Math.max(drawn - stroke.before, 0), stroke.length);
        for (const path of stroke.paths) {
          path.toggleAttribute("hidden", !far || (!at && laid));
          path.setAttribute("stroke-dashoffset", stroke.length - far);
        }
      }
    });
    const last = parts[part].findLast((stroke) => drawn > stroke.before) ?? parts[part][0];
    last.whole ||= last.paths[0].getTotalLength();
    const end = last.paths[0].getPointAtLength((last.whole * (drawn - last.before)) / (last.length || 1));
    head.setAttribute("cx", end.x);
    head.setAttribute("cy", end.y);
  };

  const say = (at) => {
    named.textContent = texts.parts[stops[at].part];
    used.textContent = texts.used[at];
    slider.setAttribute("aria-valuetext", `${named.textContent} · ${used.textContent}`);
  };
  const go = (at) => {
    slider.value = at;
    draw(stops[at]);
    say(at);
  };

  let frame = 0;
  const still = () => {
    cancelAnimationFrame(frame);
    frame = 0;
    play.classList.remove("moving");
    play.setAttribute("aria-label", play.dataset.play);
  };
  const move = () => {
    const from = Number(slider.value) < stops.length - 1 ? Number(slider.value) : 0;
    let begun;
    const next = (now) => {
      begun ??= now;
      const reached = from + ((now - begun) / 1000) * SPEED;
      const at = Math.min(Math.floor(reached), stops.length - 1);
      if (at !== Number(slider.value)) go(at);
      if (at === stops.length - 1) {
        still();
        return;
      }
      const [a, b] = [stops[at], stops[at + 1]];
      const start = a.part === b.part ? a : { drawn: 0, locked: 0 };
      draw({ part: b.part, drawn: start.drawn + (b.drawn - start.drawn) * (reached - at), locked: start.locked });
      frame = requestAnimationFrame(next);
    };
    play.classList.add("moving");
    play.setAttribute("aria-label", play.dataset.pause);
    go(from);
    frame = requestAnimationFrame(next);
  };
  const allow = () => {
    still();
    play.hidden = calm.matches;
  };

  slider.addEventListener("input", () => {
    still();
    go(Number(slider.value));
  });
  play.addEventListener("click", () => (frame ? still() : move()));
  place.querySelector(".back").addEventListener("click", () => {
    still();
    go(ends.findLast((end) => end < Number(slider.value)) ?? 0);
  });
  place.querySelector(".onward").addEventListener("click", () => {
    still();
    go(ends.find((end) => end > Number(slider.value)) ?? stops.length - 1);
  });
  calm.addEventListener("change", allow);
  place.hidden = false;
  allow();
  go(stops.length - 1);
})();
