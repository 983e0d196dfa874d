// The walk past the points of a permit: each form is sent without leaving the page, and the next one takes its place. A
// lock that was fitted or looked at while there is no line is kept in the outbox and the walk goes on; a lock comes off
// only with a line, since without it nobody can say whether it may. Without this script every form is sent as any other.
"use strict";
(() => {
  const say = (words, bad) => {
    const box = document.querySelector("[data-walk-say]");
    if (!box) return;
    const p = document.createElement("p");
    p.className = bad ? "mind" : "done"; p.textContent = words;
    box.replaceChildren(p);
    box.scrollIntoView({ block: "nearest" });
  };
  const mark = (n, words) => {
    const row = document.querySelector(`.walk [data-n="${n}"]`);
    if (!row) return;
    const status = row.querySelector("[data-status]");
    status.textContent = words;
    status.className = "lk lk-" + words.replaceAll(" ", "-");
  };

  let prefix = ""; // with which the number of the lock that was fitted last began

  // show puts the form of step n in place. It reports false when the page has none that is right.
  const show = (n, leave = "") => {
    const now = document.querySelector("[data-walk-now]"), later = document.querySelector(`template[data-step="${n}"]`);
    if (!later || later.dataset.barred === "true" || later.dataset.leave !== leave) return false;
    now.replaceChildren(later.content.cloneNode(true));
    const form = now.querySelector("form");
    form.elements.act_id.value = outbox.newID();
    const walk = document.querySelector("[data-walk]");
    form.elements.by.value = walk.dataset.me;
    form.setAttribute("action", "/permits/" + walk.dataset.walk + "/walk/" + form.id.slice(2));
    if (form.elements.padlock && prefix) form.elements.padlock.value = form.elements.prefix.value = prefix;
    if (matchMedia("(pointer: fine)").matches) form.elements.code.focus({ preventScroll: true }); // no keyboard over the page
    mark(n, "next");
    return true;
  };
  const nextAfter = (n) => [...document.querySelectorAll("template[data-step]")].map((t) => Number(t.dataset.step)).find((s) => s > n);

  // catchUp goes past what the phone keeps, after the page was made anew.
  const catchUp = () => {
    const walk = document.querySelector("[data-walk]");
    if (!walk) return;
    const looks = location.pathname.endsWith("/looks");
    const kept = outbox.list().filter((i) => i.permit === walk.dataset.walk && i.n && i.path.endsWith("/look") === looks).map((i) => i.n);
    for (const n of kept) mark(n, "not recorded");
    if (kept.length) goOn(Math.max(...kept));
  };
  const goOn = (n) => {
    const next = nextAfter(n);
    if (next && show(next)) return;
    document.querySelector("[data-walk-now]").replaceChildren();
    say("That was the last that can be done without a line. Go where there is one: what is kept on this phone is sent by itself.", true);
  };

  const refused = (form, told) => {
    say(`Refused. ${told.what ?? ""} ${told.opens ?? ""}`, true);
    form.querySelectorAll("[aria-invalid]").forEach((e) => e.removeAttribute("aria-invalid"));
    form.elements[told.field]?.setAttribute?.("aria-invalid", "true");
  };

  const bodyOf = (form, button) => {
    const body = new URLSearchParams(new FormData(form));
    if (button?.name) body.set(button.name, button.value);
    return body.toString();
  };

  document.addEventListener("submit", async (e) => {
    const form = e.target.closest("[data-walk-now] form");
    if (!form) return;
    e.preventDefault();
    e.stopImmediatePropagation(); // the page is not left
    const step = form.closest("[data-step]"), n = Number(step.dataset.step), fits = form.id === "f-fit", looks = form.id === "f-look";
    const item = { name: (looks ? "the look at step " : "step ") + n, permit: document.querySelector("[data-walk]").dataset.walk, n, path: form.getAttribute("action"), body: bodyOf(form, e.submitter), at: Date.now() };
    const number = form.elements.padlock?.value ?? "", begins = number.replace(/[0-9]+$/, "");
    if (begins !== number) prefix = begins;
    const keep = (why) => {
      outbox.keep(item); mark(n, "not recorded"); say(`${why}${looks ? "The look at step" : "Step"} ${n} is kept on this phone. It is NOT recorded yet.`, true); goOn(n);
    };
    if ((fits || looks) && outbox.list().length) { // in their order
      keep(""); outbox.flush();
      return;
    }
    const buttons = form.querySelectorAll("button:not([hidden])"), busy = (is) => buttons.forEach((b) => { b.disabled = is; });
    busy(true);
    document.dispatchEvent(new Event("walk:sends"));
    const got = await outbox.post(item);
    busy(false);
    document.dispatchEvent(new CustomEvent("walk:sent", { detail: got }));
    if (!got && (fits || looks)) {
      keep("No line. ");
    } else if (!got) {
      say("No line: nothing is recorded. Leave it on until there is a line. If it is off already, stay here and press again.", true);
    } else if (!got.ok) {
      refused(form, got.told);
    } else {
      mark(n, fits ? "hangs" : looks ? "looked at" : "off");
      const next = got.told.next;
      if (next && !next.barred && show(next.n, next.leave ?? "")) say(got.told.done); else location.reload();
    }
  }, true);

  document.addEventListener("outbox:sent", (e) => {
    const walk = document.querySelector("[data-walk]");
    if (!walk || walk.dataset.walk !== e.detail.item.permit) return;
    if (e.detail.item.n) mark(e.detail.item.n, e.detail.item.path.endsWith("/look") ? "looked at" : "hangs");
    say(e.detail.told.done);
    if (!outbox.list().length && (!document.querySelector("[data-walk-now] form") || e.detail.told.next?.barred)) location.reload();
  });
  document.addEventListener("live:renewed", catchUp);
  catchUp();
})();
