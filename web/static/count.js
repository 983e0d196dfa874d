// Counts waiting times down. The page says the moment at which a wait ends by itself; this only adds what is left, by the
// ship's clock and not by the phone's. A waiting time is never a proof, and at its end the words say so.
"use strict";
(() => {
  const skew = Date.parse(document.body.dataset.now) - Date.now();
  if (Number.isNaN(skew)) return;
  const words = (s) => {
    const two = (n) => String(n).padStart(2, "0");
    const h = Math.floor(s / 3600), m = Math.floor(s / 60) % 60;
    return (h ? h + " h " + two(m) + " min " : m ? m + " min " : "") + (h ? "" : (m ? two(s % 60) : s % 60) + " s");
  };
  const tick = () => {
    for (const e of document.querySelectorAll("[data-until]")) {
      const left = Math.ceil((Date.parse(e.dataset.until) - Date.now() - skew) / 1000);
      e.textContent = left > 0 ? ", " + words(left).trim() + " to wait" : ": over. Only a reading opens the gate.";
    }
  };
  tick();
  setInterval(tick, 1000);
})();
