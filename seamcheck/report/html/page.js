"use strict";
(() => {
  const root = document.documentElement;
  const all = (selector, within = document) => [...within.querySelectorAll(selector)];

  // Units: what was chosen is remembered, where the browser lets a page remember anything.
  const UNITS = "seamcheck-units";
  const memory = {
    get: (key) => { try { return localStorage.getItem(key); } catch { return null; } },
    set: (key, value) => { try { localStorage.setItem(key, value); } catch { /* then it holds for this page alone */ } },
    drop: (key) => { try { localStorage.removeItem(key); } catch { /* nothing is kept */ } },
  };
  const show = (units) => {
    if (units === "both") delete root.dataset.units; else root.dataset.units = units;
  };
  const choices = all("#units input");
  document.getElementById("units").hidden = false;
  for (const choice of choices) {
    choice.addEventListener("change", () => { show(choice.value); memory.set(UNITS, choice.value); });
    if (choice.value === memory.get(UNITS)) { choice.checked = true; show(choice.value); }
  }

  // What is ticked off is remembered too; the row of a cause says how much of it is done.
  const tally = (article) => {
    const boxes = all("[data-done]", article), done = boxes.filter((one) => one.checked).length;
    const row = article.closest("[data-file]").querySelector(`tr[data-cause="${article.dataset.cause}"]`);
    for (const one of [row, article]) one.classList.toggle("finished", boxes.length > 0 && done === boxes.length);
    const told = row.querySelector("th .tally") ?? row.querySelector("th").appendChild(Object.assign(document.createElement("span"), { className: "tally" }));
    told.textContent = done === 0 ? "" : done === boxes.length ? "done" : `${done} of ${boxes.length} done`;
  };
  for (const box of all("[data-done]")) {
    const key = `seamcheck-done-${box.dataset.done}`;
    box.checked = memory.get(key) !== null;
    box.addEventListener("change", () => {
      if (box.checked) memory.set(key, "1"); else memory.drop(key);
      tally(box.closest("article"));
    });
  }
  all("article[data-cause]").forEach(tally);

  // What of a file is shown: all of it, or what touches one piece or one size, or is so grave.
  for (const sieve of all(".sieve")) {
    const file = sieve.closest("[data-file]"), causes = all("[data-cause]", file), told = sieve.querySelector("output");
    const chosen = (name) => sieve.elements.namedItem(name)?.value ?? "";
    const sift = () => {
      const size = chosen("sizes"), has = (one, kind) => JSON.parse(one.dataset[kind]);
      // A size in which nothing was found hides no cause: it is only laid on the pieces.
      const clean = size && !causes.some((one) => has(one, "sizes").includes(size));
      const passes = (one) => (!chosen("pieces") || has(one, "pieces").includes(chosen("pieces")))
        && (!size || clean || !has(one, "sizes").length || has(one, "sizes").includes(size))
        && (!chosen("grade") || one.dataset.grade === chosen("grade"));
      all(".chosen-size", file).forEach((one) => one.classList.toggle("on", one.dataset.size === size));
      causes.forEach((one) => { one.hidden = !passes(one); });
      const articles = causes.filter((one) => one.localName === "article"), shown = articles.filter((one) => !one.hidden).length;
      told.textContent = [
        shown < articles.length ? `${shown} of ${articles.length} shown` : "",
        clean ? `nothing to put right in size ${size}, which is dashed on the pieces` : "",
      ].filter(Boolean).join("; ");
    };
    sieve.addEventListener("change", sift);
    sieve.addEventListener("submit", (event) => event.preventDefault());
    sieve.hidden = false;
    sift(); // a browser may keep what was chosen before
  }

  // Walking a seam: a dot runs along both sides, in the drawing of the seam and on the pieces of that size.
  const made = (kind, name, into) => {
    const one = into.appendChild(document.createElementNS(into.namespaceURI, kind));
    one.setAttribute("class", name);
    return one;
  };
  const between = (at, from, to) => { // what belongs to a place of a rising row in another row
    let k = 1;
    while (k < from.length - 1 && at > from[k]) k += 1;
    const wide = from[k] - from[k - 1];
    return to[k - 1] + (wide > 0 ? (at - from[k - 1]) / wide : 0) * (to[k] - to[k - 1]);
  };
  const moved = (dot, at) => {
    dot.classList.toggle("on", !!at);
    if (at) { dot.setAttribute("cx", at.x); dot.setAttribute("cy", at.y); }
  };
  // Amounts as all of the report tells them: whole mm from 100 on, two decimals below 1; inches to the nearest 1/16, below 1/8 to 1/32.
  const millimetres = (mm) => `${(mm + 1e-6).toFixed(mm >= 99.95 ? 0 : mm >= 0.995 ? 1 : 2)} mm`;
  const inches = (mm) => {
    const exact = mm / 25.4, parts = exact < 0.125 ? 32 : 16;
    let top = Math.round(exact * parts), low = parts;
    if (!top) return "under 1/32 in";
    const whole = Math.floor(top / low);
    top -= whole * low;
    while (top && top % 2 === 0) { top /= 2; low /= 2; }
    return [whole || "", top ? `${top}/${low}` : ""].filter(Boolean).join(" ") + " in";
  };
  const amount = (mm) => {
    const span = (kind, text) => Object.assign(document.createElement("span"), { className: kind, textContent: text });
    const whole = span("amount", "");
    whole.append(span("units-mm", millimetres(mm)), span("units-both", " ("), span("units-inch", inches(mm)), span("units-both", ")"));
    return whole;
  };
  for (const walker of all(".walker")) {
    const walk = JSON.parse(walker.dataset.walk), range = walker.querySelector("input"), told = walker.querySelector("output");
    const figure = walker.closest("figure"), file = walker.closest("[data-file]");
    const knots = [0, 1].map((side) => walk.knots.map((knot) => knot[side]));
    const rails = all("svg", figure).map((svg) => {
      const within = svg.querySelector("g"), sides = ["first", "second"].map((side) => svg.querySelector(`path[data-side=${side}]`));
      const rows = sides.map((path) => ["stations", "xs"].map((name) => path.dataset[name].split(" ").map(Number)));
      return { rows, ys: sides.map((path) => path.getPointAtLength(0).y), tie: made("line", "tie", within), dots: [made("circle", "walking", within), made("circle", "walking", within)] };
    });
    const pieces = []; // every drawing of an edge of the seam, with a dot of its own
    walk.sides.forEach((side, which) => side.uses.forEach((use) => {
      for (const svg of [...all("svg", figure), ...all("figure.piece svg", file)]) {
        const runs = all("path", svg).filter((path) => path.dataset.use === use[0]);
        if (runs.length) pieces.push({ which, use, runs, dot: made("circle", "walking", svg.querySelector("g")) });
      }
    }));
    const go = () => {
      const on = knots[1].at(-1) * range.value / 1000, at = [between(on, knots[1], knots[0]), on];
      const ahead = at[0] - at[1], shown = range.value > 0;
      for (const rail of rails) {
        const places = rail.rows.map(([stations, xs], side) => ({ x: between(at[side], stations, xs), y: rail.ys[side] }));
        rail.dots.forEach((dot, side) => { dot.setAttribute("r", 1.6); moved(dot, shown && places[side]); });
        ["1", "2"].forEach((end, side) => { rail.tie.setAttribute(`x${end}`, places[side].x); rail.tie.setAttribute(`y${end}`, places[side].y); });
        rail.tie.style.display = shown ? "" : "none";
      }
      for (const { which, use: [, offset, length, backwards], runs, dot } of pieces) {
        const along = at[which] - offset, inside = shown && along >= -1e-6 && along <= length + 1e-6;
        const lengths = runs.map((run) => run.getTotalLength()), whole = lengths.reduce((a, b) => a + b, 0);
        let left = whole * (backwards ? 1 - along / length : along / length), k = 0;
        while (k < runs.length - 1 && left > lengths[k]) { left -= lengths[k]; k += 1; }
        dot.setAttribute("r", 1.6);
        moved(dot, inside && runs[k].getPointAtLength(left));
      }
      told.textContent = "";
      if (!shown) return;
      const way = Math.abs(ahead) < 0.05 ? "" : ahead > 0 ? " longer so far" : " shorter so far";
      told.append(walk.sides[0].name, " ", amount(at[0]), ", ", walk.sides[1].name, " ", amount(at[1]), ...(way ? [`: ${walk.sides[0].name} is `, amount(Math.abs(ahead)), way] : [": alike so far"]));
      range.setAttribute("aria-valuetext", told.textContent);
    };
    range.addEventListener("input", go);
    walker.hidden = false;
    range.value = 0; // a browser may keep where it stood
    go();
  }

  // What is linked to is unfolded and given the focus, and what belongs to one finding is shown with it.
  const arrive = () => {
    const target = document.getElementById(decodeURIComponent(location.hash.slice(1)));
    all(".lit").forEach((one) => one.classList.remove("lit"));
    if (!target) return;
    for (let at = target.parentElement; at; at = at.parentElement) if (at.localName === "details") at.open = true;
    const hidden = target.closest("[data-cause][hidden]");
    if (hidden) { // what is linked to is shown, whatever was chosen
      const sieve = hidden.closest("[data-file]").querySelector(".sieve");
      sieve.reset();
      sieve.dispatchEvent(new Event("change"));
    }
    if (target.localName === "details") target.open = true;
    if (target.hasAttribute("tabindex") || target.localName === "a") target.focus({ preventScroll: true });
    target.scrollIntoView({ block: target.localName === "a" ? "center" : "start" });
    const number = target.dataset.finding;
    const file = target.closest("[data-file]");
    if (number && file) all(`[data-finding="${number}"]`, file).forEach((one) => one.classList.add("lit"));
  };
  addEventListener("hashchange", arrive);
  // A link to where one is already moves nothing by itself.
  document.addEventListener("click", (event) => {
    const link = event.target.closest?.("a");
    const href = link?.getAttribute("href");
    if (href?.startsWith("#") && href === location.hash) { event.preventDefault(); arrive(); }
  });
  if (location.hash) arrive();

  // What is wider than its place can be moved with the keys.
  const scrollers = all(".scroller");
  const measure = () => {
    for (const one of scrollers) {
      if (one.scrollWidth > one.clientWidth + 1) {
        one.tabIndex = 0;
        one.setAttribute("role", "group");
        const name = one.querySelector("caption")?.textContent ?? one.closest("figure")?.querySelector("figcaption b")?.textContent;
        one.setAttribute("aria-label", `${name ?? "Drawing"} (wider than the page)`);
      } else {
        for (const name of ["tabindex", "role", "aria-label"]) one.removeAttribute(name);
      }
    }
  };
  addEventListener("resize", measure);
  document.addEventListener("toggle", measure, true);
  measure();
  for (const one of all(".drawing.graph .scroller")) one.scrollLeft = (one.scrollWidth - one.clientWidth) / 2;

  // What must stand on paper is unfolded for printing.
  let opened = [];
  addEventListener("beforeprint", () => {
    opened = all("details.printed:not([open])");
    opened.forEach((one) => { one.open = true; });
  });
  addEventListener("afterprint", () => opened.forEach((one) => { one.open = false; }));
})();
