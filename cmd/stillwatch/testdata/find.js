// Finds what a person would look for on a page, by its words: a button, a link, a field by its label, a choice, a
// fold. Gives where to press, or what is in the way. The words of a heading narrow the search to its part of the page.
(part, kind, words) => {
  const norm = (s) => (s || "").replace(/\s+/g, " ").trim();
  const shown = (e) => { const r = e.getBoundingClientRect(); return r.width > 0 && r.height > 0 && e.checkVisibility({ visibilityProperty: true, contentVisibilityAuto: true }); };
  const best = (list, text) => {
    for (const fits of [(s) => s === words, (s) => s.startsWith(words), (s) => s.includes(words)]) {
      const found = list.filter((e) => fits(norm(text(e))));
      if (found.length) return found;
    }
    return [];
  };
  let roots = [document];
  if (part) {
    const titled = [...document.querySelectorAll("form, section, article, details, nav, fieldset[aria-label]")].filter((e) => {
      const t = e.querySelector("h1, h2, h3, summary, legend");
      return shown(e) && (t && shown(t) && norm(t.textContent).startsWith(part) || (e.ariaLabel || "").startsWith(part));
    });
    roots = titled.filter((e) => !titled.some((o) => o !== e && o.contains(e)));
    if (roots.length !== 1) return { no: roots.length + " parts of the page are headed " + JSON.stringify(part) };
  }
  const all = (css) => roots.flatMap((r) => [...r.querySelectorAll(css)]).filter(shown);
  let found;
  if (kind === "field") {
    found = best(all("label"), (e) => e.textContent).map((e) => e.control).filter((e) => e && shown(e));
  } else {
    const css = { button: "button", link: "a", choice: "label:has(input[type=radio]), label:has(input[type=checkbox])", fold: "summary" }[kind];
    found = best(all(css), (e) => e.textContent);
  }
  if (found.length !== 1) return { no: found.length + " of kind " + kind + " say " + JSON.stringify(words) + (part ? " under " + JSON.stringify(part) : "") };
  const at = found[0];
  if (at.disabled) return { no: kind + " " + JSON.stringify(words) + " is disabled" };
  at.scrollIntoView({ block: "center", behavior: "instant" });
  const r = [...at.getClientRects()].find((r) => r.width > 0 && r.height > 0);
  const x = r.left + r.width / 2, y = r.top + r.height / 2;
  const top = document.elementFromPoint(x, y);
  if (!top || !(at.contains(top) || top.contains(at))) return { no: kind + " " + JSON.stringify(words) + " is covered by " + (top ? top.outerHTML.slice(0, 120) : "nothing") };
  document.querySelectorAll("[data-found]").forEach((e) => e.removeAttribute("data-found"));
  at.setAttribute("data-found", "");
  if (kind === "field" && at.select) at.select();
  return { no: "", x, y, href: at.href || "" };
}
