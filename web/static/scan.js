// Reads a tag or label from a photo in the page, also over plain HTTP. The reader itself is fetched only when the first
// photo comes. The button in the head opens the tag's page; one beside a field fills the field. What is read is only
// looked up or typed in: nothing happens before somebody confirms.
"use strict";
(() => {
  if (!document.querySelector("[data-scan]") || !window.WebAssembly || !window.createImageBitmap) return;
  document.documentElement.dataset.photos = "yes";
  const longest = 2000; // pixels: enough for a tag across the frame, and quick
  let reader;

  const load = (scan) => reader ??= new Promise((done, fail) => {
    const script = document.createElement("script");
    script.src = scan.dataset.scan;
    script.onerror = () => { reader = undefined; fail(new Error("no reader")); };
    script.onload = () => {
      BarcodeDetectionAPI.setZXingModuleOverrides({ locateFile: () => scan.dataset.wasm });
      done(new BarcodeDetectionAPI.BarcodeDetector({ formats: ["qr_code"] }));
    };
    document.head.append(script);
  });

  const small = async (file) => {
    const whole = await createImageBitmap(file), by = Math.min(1, longest / Math.max(whole.width, whole.height));
    return by === 1 ? whole : createImageBitmap(whole, { resizeWidth: Math.round(whole.width * by), resizeHeight: Math.round(whole.height * by) });
  };

  // codeOf gives the code in what was read: the last part of the tag's address.
  const codeOf = (text) => /\/T\/([0-9A-Z]{17})$/i.exec(text)?.[1];

  // take puts a code where it belongs, and gives the words that say so.
  const take = (scan, code) => {
    const form = scan.closest("form"), field = scan.dataset.into && form?.elements[scan.dataset.into];
    if (!field) { location.assign("/T/" + code.toUpperCase() + "?how=photo"); return "Opening…"; }
    field.value = code.toUpperCase();
    if (field.name === "code" && form.elements.how) form.elements.how.value = "photo";
    field.dispatchEvent(new Event("input", { bubbles: true }));
    return "Read. Another photo?";
  };

  document.addEventListener("change", async (e) => {
    const scan = e.target.closest("[data-scan]"), file = scan && e.target.files?.[0];
    if (!file) return;
    const words = scan.querySelector("span");
    words.textContent = "Reading the photo…";
    try {
      const found = await (await load(scan)).detect(await small(file));
      const code = found.map((f) => codeOf(f.rawValue)).find(Boolean);
      if (code) words.textContent = take(scan, code);
      else words.textContent = found.length ? "That is no tag of this register. Again?" : "No code seen. Nearer, flat, more light. Again?";
    } catch {
      words.textContent = "The photo could not be read. Type the code.";
    }
    e.target.value = "";
  });
})();
