// What a hand in a glove can tell without looking: a short buzz and a high tone when something was recorded, two long
// buzzes and a low tone when it was refused. Browsers allow both only on a page that was touched. While a tag or a walk is
// shown the screen stays on, where the browser can do that (a secure address).
"use strict";
(() => {
  if (!document.querySelector(".tag")) return;
  let audio;

  const tone = (hz, after, lasts) => {
    const o = audio.createOscillator(), g = audio.createGain(), at = audio.currentTime + after;
    o.frequency.value = hz;
    g.gain.setValueAtTime(0.2, at); g.gain.setTargetAtTime(0, at + lasts * 0.7, 0.03);
    o.connect(g).connect(audio.destination);
    o.start(at); o.stop(at + lasts + 0.1);
  };
  const feel = (ok) => {
    if (!navigator.userActivation?.hasBeenActive) return;
    navigator.vibrate?.(ok ? 80 : [300, 120, 300]);
    try {
      audio ??= new AudioContext();
      if (ok) tone(1320, 0, 0.12); else { tone(220, 0, 0.3); tone(220, 0.42, 0.3); }
    } catch { /* no sound here: the page says it */ }
  };
  document.addEventListener("walk:sent", (e) => { if (e.detail) feel(e.detail.ok); });

  const stay = () => { if (document.visibilityState === "visible") navigator.wakeLock?.request("screen").catch(() => {}); };
  document.addEventListener("visibilitychange", stay);
  stay();
})();
