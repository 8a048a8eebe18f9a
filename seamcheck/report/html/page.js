"use strict";
(() => {
  const root = document.documentElement;
  const all = (selector, within = document) => [...within.querySelectorAll(selector)];

  // Units: what was chosen is remembered, where the browser lets a page remember anything.
  const KEY = "seamcheck-units";
  const memory = {
    get: () => { try { return localStorage.getItem(KEY); } catch { return null; } },
    set: (value) => { try { localStorage.setItem(KEY, value); } catch { /* then it holds for this page alone */ } },
  };
  const show = (units) => {
    if (units === "both") delete root.dataset.units; else root.dataset.units = units;
  };
  const choices = all("#units input");
  document.getElementById("units").hidden = false;
  for (const choice of choices) {
    choice.addEventListener("change", () => { show(choice.value); memory.set(choice.value); });
    if (choice.value === memory.get()) { choice.checked = true; show(choice.value); }
  }

  // What is linked to is unfolded and given the focus, and what belongs to one finding is shown with it.
  const arrive = () => {
    const target = document.getElementById(decodeURIComponent(location.hash.slice(1)));
    all(".lit").forEach((one) => one.classList.remove("lit"));
    if (!target) return;
    for (let at = target.parentElement; at; at = at.parentElement) if (at.localName === "details") at.open = true;
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
  for (const one of all(".drawing.piece .scroller, .drawing.graph .scroller")) one.scrollLeft = (one.scrollWidth - one.clientWidth) / 2;

  // What must stand on paper is unfolded for printing.
  let opened = [];
  addEventListener("beforeprint", () => {
    opened = all("details.printed:not([open])");
    opened.forEach((one) => { one.open = true; });
  });
  addEventListener("afterprint", () => opened.forEach((one) => { one.open = false; }));
})();
