// Reads a tag or label from a photo in the page, also over plain HTTP. The reader itself is fetched only when the first
// photo comes. What it reads is only looked up: nothing happens before somebody confirms on the tag's page.
"use strict";
(() => {
  const scan = document.querySelector("[data-scan]");
  if (!scan || !window.WebAssembly || !window.createImageBitmap) return;
  const input = scan.querySelector("input"), words = scan.querySelector("span");
  scan.hidden = false;
  const longest = 2000; // pixels: enough for a tag across the frame, and quick
  let reader;

  const load = () => reader ??= new Promise((done, fail) => {
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

  input.addEventListener("change", async () => {
    const file = input.files[0];
    if (!file) return;
    words.textContent = "Reading the photo…";
    try {
      const found = await (await load()).detect(await small(file));
      const code = found.map((f) => codeOf(f.rawValue)).find(Boolean);
      if (code) { location.assign("/T/" + code.toUpperCase() + "?how=photo"); return; }
      words.textContent = found.length ? "That is no tag of this register. Again?" : "No code seen. Nearer, flat, more light. Again?";
    } catch {
      words.textContent = "The photo could not be read. Type the code above.";
    }
    input.value = "";
  });
})();
