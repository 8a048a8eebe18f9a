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
      const passes = (one) => ["pieces", "sizes"].every((kind) => {
        const values = JSON.parse(one.dataset[kind]);
        return !chosen(kind) || values.includes(chosen(kind)) || (kind === "sizes" && !values.length);
      }) && (!chosen("grade") || one.dataset.grade === chosen("grade"));
      causes.forEach((one) => { one.hidden = !passes(one); });
      const articles = causes.filter((one) => one.localName === "article"), shown = articles.filter((one) => !one.hidden).length;
      told.textContent = shown === articles.length ? "" : `${shown} of ${articles.length} shown`;
    };
    sieve.addEventListener("change", sift);
    sieve.addEventListener("submit", (event) => event.preventDefault());
    sieve.hidden = false;
    sift(); // a browser may keep what was chosen before
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
  for (const one of all(".drawing.piece:not(.compact) .scroller, .drawing.graph .scroller")) one.scrollLeft = (one.scrollWidth - one.clientWidth) / 2;

  // What must stand on paper is unfolded for printing.
  let opened = [];
  addEventListener("beforeprint", () => {
    opened = all("details.printed:not([open])");
    opened.forEach((one) => { one.open = true; });
  });
  addEventListener("afterprint", () => opened.forEach((one) => { one.open = false; }));
})();
