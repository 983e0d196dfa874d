// Looks at the page that is shown as somebody with weak eyes and thick gloves would, and gives a list of what is wrong:
// fields without a label, targets too small for a glove (touch only), a page wider than the screen, words too faint to
// read. Contrast is WCAG 2's ratio of relative luminances, from the computed styles, with every half-transparent ground
// laid over the one below it; 4.5 is wanted of every size of letter.
(touch) => {
  const faults = [];
  const shown = (e) => { const r = e.getBoundingClientRect(); return r.width > 1 && r.height > 1 && r.bottom + scrollY > 0 && r.right + scrollX > 0 && e.checkVisibility({ visibilityProperty: true, opacityProperty: true, contentVisibilityAuto: true }); };
  const name = (e) => {
    const words = String(e.innerText || e.value || e.placeholder || "").replace(/\s+/g, " ").trim().slice(0, 50);
    const cls = typeof e.className === "string" && e.className ? "." + e.className.trim().replace(/\s+/g, ".") : "";
    return e.tagName.toLowerCase() + (e.id ? "#" + e.id : cls) + (e.name ? "[" + e.name + "]" : "") + (words ? " \"" + words + "\"" : "");
  };

  // Labels.
  for (const e of document.querySelectorAll("input:not([type=hidden]), select, textarea")) {
    if (!e.labels.length && !e.getAttribute("aria-label") && !e.getAttribute("aria-labelledby")) faults.push("no label: " + name(e));
  }
  for (const e of document.querySelectorAll("a[href], button, summary")) {
    if (shown(e) && !e.innerText.trim() && !e.getAttribute("aria-label")) faults.push("no words: " + name(e));
  }
  const ids = [...document.querySelectorAll("[id]")].map((e) => e.id);
  for (const id of new Set(ids.filter((id, i) => ids.indexOf(id) !== i))) faults.push("id twice: " + id);

  // Targets. A link inside a running sentence, or a link that shares its line with text, is read before it is pressed and
  // is exempt (WCAG 2.5.8 exempts it too); a box belongs to its label.
  if (touch) {
    for (const e of document.querySelectorAll("a[href], button, input:not([type=hidden]), select, textarea, summary")) {
      if (!shown(e)) continue;
      if (e.tagName === "A" && getComputedStyle(e).display === "inline" && e.parentElement.innerText.trim().length > e.innerText.trim().length) continue;
      const label = /^(radio|checkbox|file)$/.test(e.type) ? e.closest("label") : null;
      const box = (label || e).getBoundingClientRect();
      const main = e.matches("button.main, a.button.main, button.huge, .pick input"); // the one act of its form
      if (box.height < (main ? 63.5 : 47.5) || box.width < 47.5) faults.push("target " + Math.round(box.width) + " x " + Math.round(box.height) + " px: " + name(label || e));
    }
  }

  // Width.
  const wide = document.scrollingElement.scrollWidth, seen = document.documentElement.clientWidth;
  if (wide > seen) {
    const out = [...document.querySelectorAll("main *")].filter((e) => shown(e) && e.getBoundingClientRect().right > seen + 0.5 && !e.closest(".scroll"));
    faults.push("page is " + wide + " px wide on a screen of " + seen + ": " + out.slice(0, 3).map(name).join(", "));
  }

  // Contrast.
  const canvas = document.createElement("canvas").getContext("2d", { willReadFrequently: true });
  const known = new Map();
  const rgba = (css) => {
    if (!known.has(css)) {
      canvas.clearRect(0, 0, 1, 1); canvas.fillStyle = "#000"; canvas.fillStyle = css; canvas.fillRect(0, 0, 1, 1);
      const d = canvas.getImageData(0, 0, 1, 1).data;
      known.set(css, [d[0], d[1], d[2], d[3] / 255]);
    }
    return known.get(css);
  };
  const over = (a, b) => { const k = a[3]; return [0, 1, 2].map((i) => a[i] * k + b[i] * (1 - k)).concat(1); };
  const grounds = new Map();
  const ground = (e) => {
    if (!e) return [255, 255, 255, 1];
    if (!grounds.has(e)) {
      const c = rgba(getComputedStyle(e).backgroundColor);
      grounds.set(e, c[3] === 1 ? c : c[3] > 0 ? over(c, ground(e.parentElement)) : ground(e.parentElement));
    }
    return grounds.get(e);
  };
  // In a drawing the ground is the last shape drawn before the words that lies under their middle.
  const shapes = new Map();
  const shapesOf = (svg) => {
    if (!shapes.has(svg)) {
      shapes.set(svg, [...svg.querySelectorAll("rect, circle, ellipse, polygon, path")].filter((shape) => !shape.closest("symbol, defs, pattern"))
        .map((shape) => ({ shape, b: shape.getBoundingClientRect(), fill: getComputedStyle(shape).fill }))
        .filter((s) => s.fill !== "none" && !s.fill.startsWith("url")));
    }
    return shapes.get(svg);
  };
  const drawn = (e, svg) => {
    const r = e.getBoundingClientRect(), x = r.left + r.width / 2, y = r.top + r.height / 2;
    let on = ground(svg);
    for (const { shape, b, fill } of shapesOf(svg)) {
      if (x < b.left || x > b.right || y < b.top || y > b.bottom) continue;
      if (shape.compareDocumentPosition(e) & Node.DOCUMENT_POSITION_FOLLOWING) on = over(rgba(fill), on);
    }
    return on;
  };
  const light = (c) => { const f = c.slice(0, 3).map((v) => { v /= 255; return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4; }); return 0.2126 * f[0] + 0.7152 * f[1] + 0.0722 * f[2]; };
  const ratio = (a, b) => { const x = light(a), y = light(b); return (Math.max(x, y) + 0.05) / (Math.min(x, y) + 0.05); };
  const faint = (e, colour, on, words) => {
    const r = ratio(over(rgba(colour), on), on);
    if (r < 4.5) faults.push("contrast " + r.toFixed(2) + ", " + colour + " on rgb(" + on.slice(0, 3).map(Math.round) + "): " + words);
  };
  const told = new Set();
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  for (let n = walk.nextNode(); n; n = walk.nextNode()) {
    const e = n.parentElement;
    if (!n.data.trim() || !shown(e) || e.closest("script, style, option, :disabled")) continue;
    const style = getComputedStyle(e), svg = e.closest("svg");
    const colour = svg ? style.fill : style.color, on = svg ? drawn(e, svg) : ground(e);
    const key = colour + "|" + on + "|" + e.tagName + "." + (e.className.baseVal ?? e.className);
    if (told.has(key)) continue;
    told.add(key);
    faint(e, colour, on, svg ? "drawn " + JSON.stringify(n.data.trim().slice(0, 40)) : name(e));
  }
  for (const e of document.querySelectorAll("input, textarea, select")) {
    if (!shown(e) || e.disabled || /^(radio|checkbox|file)$/.test(e.type)) continue;
    faint(e, getComputedStyle(e).color, ground(e), "value of " + name(e));
    if (e.placeholder) faint(e, getComputedStyle(e, "::placeholder").color, ground(e), "placeholder of " + name(e));
  }
  return [...new Set(faults)];
}
