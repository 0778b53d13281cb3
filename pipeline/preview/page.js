"use strict";
// Shows what the preview tells it, event by event. A stream is a choice: another choice is another stream. Texts are
// set as text; the only markup taken over is that of drawings, which are read as SVG and stripped of what could run.
(() => {
  const by = (id) => document.getElementById(id);
  const make = (name, more = {}, ...inner) => {
    const made = document.createElement(name);
    for (const [key, value] of Object.entries(more)) {
      if (value === undefined || value === "") continue;
      if (key === "class") made.className = value;
      else made.setAttribute(key, value);
    }
    made.append(...inner);
    return made;
  };
  const SIGNS = { error: "✕", warning: "△", note: "○", good: "✓" };
  const DELAY_MS = 70; // after the last move of a slider

  let query = new URLSearchParams(location.search);
  let stream = null;
  let hello = {};
  let knobs = [];
  let rounds = [];
  let shown = ""; // the pattern whose pages stand there

  // Drawings

  const drawing = (text) => {
    const read = new DOMParser().parseFromString(text, "image/svg+xml").documentElement;
    for (const each of [...read.querySelectorAll("script, foreignObject, a, style")]) each.remove();
    return document.importNode(read, true);
  };
  const drawn = (text) => drawing(text.replace("<svg ", '<svg xmlns="http://www.w3.org/2000/svg" '));

  // Choices

  const fill = (select, entries, chosen) => {
    const wanted = entries.map(([value, text]) => `${value}\n${text}`).join("\n");
    if (select.dataset.wanted !== wanted) {
      select.dataset.wanted = wanted;
      select.replaceChildren(...entries.map(([value, text]) => make("option", { value: value || " " }, text)));
      for (const option of select.options) option.value = option.value.trim();
    }
    select.value = chosen;
  };
  const choices = (data) => {
    const locales = data.locales.map(({ tag, name, own }) => [tag, own && own !== name ? `${name} · ${own}` : name || tag]);
    const [first, second] = hello.locales;
    by("workspace").textContent = data.workspace;
    fill(by("pattern"), [...new Set([...data.patterns, hello.pattern])].map((name) => [name, name]), hello.pattern);
    fill(by("locale"), locales, first);
    fill(by("beside"), [["", "nothing"], ...locales.filter(([tag]) => tag !== first)], second ?? "");
    const papers = { a4: "A4", a5: "A5", letter: "Letter", common: "A4 and Letter" };
    fill(by("paper"), [["", "as the language has it"], ...data.papers.map((name) => [name, papers[name] ?? name])], hello.paper ?? "");
  };
  const choose = () => {
    const next = new URLSearchParams();
    const [pattern, locale, beside, paper] = ["pattern", "locale", "beside", "paper"].map((id) => by(id).value);
    next.append("pattern", pattern);
    next.append("locale", locale);
    if (beside && beside !== locale) next.append("locale", beside);
    if (paper) next.append("paper", paper);
    if (pattern === hello.pattern) for (const [name, value] of tried()) next.append(name, value);
    go(next);
  };

  // Problems

  const marked = ({ text, column, length }) => {
    const characters = [...text];
    const [from, until] = [column - 1, column - 1 + Math.max(1, length)];
    const parts = [characters.slice(0, from), characters.slice(from, until), characters.slice(until)];
    return [parts[0].join("").trimStart(), make("mark", {}, parts[1].join("")), parts[2].join("")];
  };
  const problem = (each) => {
    const file = each.file.replace(/^patterns\//, "");
    const own = file === `${hello.pattern}.yaml` ? "" : `${file} `;
    return make(
      "li",
      { class: each.severity, "data-code": each.code },
      make("span", { class: `badge ${each.severity}`, "aria-hidden": "true" }, SIGNS[each.severity]),
      make(
        "div",
        {},
        make("p", {}, make("span", { class: "place" }, `${own}${each.line}:${each.column}`), `${each.severity}: ${each.message}`),
        ...(each.text.trim() ? [make("pre", {}, ...marked(each))] : []),
        ...(each.hint ? [make("p", { class: "hint" }, each.hint)] : []),
      ),
    );
  };
  let listed = "";
  const many = (count, word) => (count ? `${count} ${word}${count === 1 ? "" : "s"}` : "");
  const problems = (found) => {
    const count = (severity) => found.filter((each) => each.severity === severity).length;
    const worst = ["error", "warning", "note"].find(count) ?? "good";
    const first = found.find((each) => each.severity === worst);
    const counted = ["error", "warning", "note"].map((word) => many(count(word), word)).filter(Boolean).join(", ");
    const where = first ? `: line ${first.line}, column ${first.column}` : "";
    const words = found.length ? `${counted}${where}` : "No problems";
    if (by("status").textContent !== words) by("status").textContent = words;
    by("verdict-badge").className = `badge ${worst}`;
    by("verdict-badge").textContent = SIGNS[worst];
    // What stays as it was is left alone: somebody may be reading it, or copying from it.
    const whole = JSON.stringify([hello.pattern, found]);
    if (whole !== listed) by("found").replaceChildren(...found.map(problem));
    listed = whole;
    document.title = `${worst === "error" ? "✕ " : ""}${by("title").textContent} · Spokeleaf preview`;
  };

  // Threads

  const metres = (mm) => (mm === null ? "–" : `${(mm / 1000).toFixed(2)} m`);
  const swatch = (colour) => {
    const svg = drawn('<svg class="swatch" viewBox="0 0 32 14" aria-hidden="true"><rect x=".5" y=".5" width="31" height="13" rx="4"/></svg>');
    if (/^#[0-9a-fA-F]{6}$/.test(colour)) svg.firstChild.setAttribute("fill", colour);
    return svg;
  };
  const threads = (rows) => {
    by("threads").replaceChildren(
      ...rows.map((row) =>
        make(
          "tr",
          {},
          make("th", { scope: "row" }, swatch(row.colour), make("b", {}, row.letter), `${row.name}, ${row.fibre}, ${row.tex.toFixed(1)} tex, ${row.thickness.toFixed(2)} mm`),
          ...[metres(row.net), metres(row.total), `${row.grams.toFixed(1)} g`, row.working_lengths, row.balls ?? "–", metres(row.measured)].map(
            (text) => make("td", {}, String(text)),
          ),
        ),
      ),
    );
  };

  // The stretch map

  let asked = 0;
  const stretch = async () => {
    const number = Number(by("round").value);
    const round = rounds[number];
    if (!round) return;
    const said = number ? `${round.number} · ${round.name}` : round.name;
    by("round-said").textContent = said;
    by("round").setAttribute("aria-valuetext", said);
    by("stretch-said").textContent = `${said}: ${round.asked}.`;
    const own = ++asked;
    const answer = await fetch(`stretch/${hello.viewer}/${number}.svg`).catch(() => null);
    if (!answer?.ok || own !== asked) return;
    const text = await answer.text();
    if (own === asked) by("stretch").replaceChildren(drawing(text));
  };
  const turn = (found, another) => {
    rounds = found;
    const slider = by("round");
    slider.max = Math.max(0, found.length - 1);
    slider.disabled = found.length < 2;
    if (another) slider.value = 0;
    if (found.length) stretch();
    else {
      by("stretch").replaceChildren();
      by("stretch-said").textContent = "There is no round yet that could be worked out.";
      by("round-said").textContent = "";
    }
  };

  // What if

  const tried = () =>
    knobs.flatMap(({ name, value }) => {
      const slider = by(`knob-${name}`);
      return slider && slider.value !== slider.dataset.own ? [[name, slider.value]] : [];
    });
  const written = (value, unit) => `${Number(value)}${unit ? ` ${unit}` : ""}`;
  const said = (slider, knob) => {
    const other = slider.value !== slider.dataset.own;
    const text = written(slider.value, knob.unit);
    slider.closest(".knob").classList.toggle("other", other);
    by(`said-${knob.name}`).textContent = other ? `${text} (file: ${written(knob.value, knob.unit)})` : text;
    slider.setAttribute("aria-valuetext", text);
  };
  let waiting = 0;
  const move = () => {
    clearTimeout(waiting);
    waiting = setTimeout(choose, DELAY_MS);
  };
  const knob = (each) => {
    const id = `knob-${each.name}`;
    const slider = make("input", { type: "range", id, autocomplete: "off" });
    slider.addEventListener("input", () => {
      said(slider, each);
      move();
    });
    return make("div", { class: "knob" }, make("label", { for: id }, each.label), slider, make("output", { for: id, id: `said-${each.name}` }));
  };
  const turnables = (found) => {
    const names = (list) => list.map(({ name }) => name).join();
    if (names(found) !== names(knobs)) by("knobs").replaceChildren(...found.map(knob));
    knobs = found;
    for (const each of found) {
      const slider = by(`knob-${each.name}`);
      // A range begins its steps at its least value; what the file has must be one of them.
      const least = each.value - Math.floor((each.value - each.least) / each.step + 1e-9) * each.step;
      Object.assign(slider, { min: Number(least.toFixed(4)), max: each.most, step: each.step });
      if (document.activeElement !== slider || !query.get(each.name)) slider.value = query.get(each.name) ?? each.value;
      const held = slider.value;
      slider.value = each.value;
      slider.dataset.own = slider.value;
      slider.value = held;
      said(slider, each);
    }
    if (!found.length) by("knobs").replaceChildren(make("p", { class: "lead" }, "Once the pattern can be read, its values can be tried here."));
    const other = tried().length > 0;
    if (other && by("writing").hidden) {
      by("new-id").value = `${hello.pattern}-2`;
      by("written").textContent = "";
    }
    by("writing").hidden = !other;
  };
  const write = async (event) => {
    event.preventDefault();
    const asking = new URLSearchParams(query);
    const body = JSON.stringify({ id: by("new-id").value.trim() });
    const headers = { "Content-Type": "application/json" };
    const answer = await fetch(`write?${asking}`, { method: "POST", headers, body }).catch(() => null);
    const told = await answer?.json().catch(() => null);
    if (answer?.ok) {
      const next = new URLSearchParams(query);
      for (const { name } of knobs) next.delete(name);
      next.set("pattern", told.pattern);
      go(next);
      return;
    }
    by("written").textContent = told?.words ?? "The preview does not answer.";
  };

  // Pages

  const coming = []; // pictures that are on their way
  const side = (data) => {
    const id = `side-${data.side}`;
    let place = by(id);
    if (!place) {
      place = make("section", { class: "side", id, "aria-label": "" }, make("h2"), make("ol", { class: "sheets" }));
      by("sides").append(place);
    }
    const list = place.lastChild;
    if (list.lang !== data.lang) {
      list.replaceChildren();
      [list.lang, list.dir] = [data.lang, data.direction];
    }
    const name = by("locale").querySelector(`option[value="${CSS.escape(data.lang)}"]`)?.textContent ?? data.lang;
    place.firstChild.textContent = name;
    place.setAttribute("aria-label", name);
    return list;
  };
  const page = async (data) => {
    const source = `sheet/${data.name}`;
    const list = side(data);
    let item = list.querySelector(`[data-number="${data.number}"]`);
    if (!item) {
      const link = make("a", { target: "_blank", rel: "noopener" }, make("img", { alt: "" }));
      item = make("li", { "data-number": data.number }, link, make("p", { class: "number quiet", "aria-hidden": "true" }, String(data.number)));
      list.append(item);
      behind();
    }
    if (data.last) for (const each of [...list.children]) if (Number(each.dataset.number) > data.number) each.remove();
    const picture = item.querySelector("img");
    item.querySelector("a").href = source;
    picture.alt = `Page ${data.number} of ${data.of}: ${data.title}`;
    if (picture.getAttribute("src") === source || item.dataset.next === source) return;
    item.dataset.next = source;
    const next = new Image();
    next.src = source;
    await next.decode().catch(() => {});
    if (item.dataset.next !== source) return;
    [picture.width, picture.height] = [data.width, data.height];
    picture.src = source;
  };

  // Whether the pages are of the file as it is.
  let good = true;
  const behind = (are = good) => {
    good = are;
    const some = by("sides").querySelector("li") !== null;
    by("held").hidden = good;
    by("held").textContent = some ? "These pages are from before the errors." : "There are no pages yet; they come when the errors are mended.";
    by("leaflet").classList.toggle("behind", !good);
  };

  // The stream

  const took = (data) => {
    by("took").textContent = Object.entries(data.took).map(([step, ms]) => `${step} ${(ms / 1000).toFixed(2)} s`).join(" · ");
  };
  const hears = {
    hello: (data) => {
      hello = data;
      document.body.classList.toggle("two", data.locales.length > 1);
      for (const place of [...by("sides").children].slice(data.locales.length)) place.remove();
      if (shown !== data.pattern) by("sides").replaceChildren();
    },
    choices,
    checked: (data) => {
      const another = shown !== data.pattern;
      shown = data.pattern;
      // Of a file that cannot be read, all that was seen before stays, as its pages do.
      const stays = !data.read && !another;
      if (!stays) by("title").textContent = data.title;
      problems(data.problems);
      behind(data.good);
      took(data);
      document.body.classList.toggle("unread", stays);
      if (stays) {
        by("stretch-said").textContent = "From before the errors.";
        return;
      }
      threads(data.threads);
      turn(data.rounds, another);
      turnables(data.knobs);
      if (another) by("chart").replaceChildren();
    },
    front: took,
    whole: (data) => {
      took(data);
      Promise.allSettled(coming.splice(0)).then(() => {
        document.body.dataset.whole = String(Number(document.body.dataset.whole ?? 0) + 1);
      });
    },
    page: (data) => coming.push(page(data)),
    chart: (data) => by("chart").replaceChildren(...[data.definitions, ...data.pictures].map(drawn)),
    problems: (data) => {
      problems(data.problems);
      behind(data.good);
    },
    bug: (data) => {
      by("status").textContent = `A bug of ours: ${data.words}. The terminal says more.`;
    },
  };
  // What was asked for is not there, or not any more: begin anew, or say why that cannot be, and try again.
  const refused = async (text) => {
    if (text) {
      go(new URLSearchParams());
      return;
    }
    const answer = await fetch("events").catch(() => null);
    if (answer && !answer.ok) by("status").textContent = (await answer.json().catch(() => ({}))).words ?? "Something is wrong.";
    answer?.body?.cancel().catch(() => {});
    setTimeout(() => go(query), 1500);
  };
  const go = (next) => {
    query = next;
    const text = next.toString();
    history.replaceState(null, "", text ? `?${text}` : location.pathname);
    stream?.close();
    const own = new EventSource(`events?${text}`);
    stream = own;
    for (const [name, hear] of Object.entries(hears)) {
      own.addEventListener(name, (event) => {
        if (own === stream) hear(JSON.parse(event.data));
      });
    }
    own.addEventListener("error", () => {
      if (own !== stream) return;
      if (own.readyState === EventSource.CLOSED) refused(text);
      else by("status").textContent = "The preview does not answer. Is it still running?";
    });
  };

  by("choices").addEventListener("change", choose);
  by("choices").addEventListener("submit", (event) => event.preventDefault());
  by("knobs").addEventListener("submit", (event) => event.preventDefault());
  by("round").addEventListener("input", stretch);
  by("writing").addEventListener("submit", write);
  by("back").addEventListener("click", () => {
    const next = new URLSearchParams(query);
    for (const { name } of knobs) next.delete(name);
    go(next);
    by("knobs").querySelector("input")?.focus();
  });
  go(query);
})();
