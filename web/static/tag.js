// The page of one tag: what is pressed there is sent without leaving the page, so that the hand feels the answer and so
// that a lock that was hung, or looked at, where there is no line waits on the phone. A refusal is shown as the server
// writes it, with what was typed. Without this script the form is sent as any other.
"use strict";
(() => {
  const done = "stillwatch-done";
  const said = sessionStorage.getItem(done);
  sessionStorage.removeItem(done);
  if (said && !document.querySelector(".done") && !document.body.dataset.kept) {
    const p = document.createElement("p");
    p.className = "done"; p.setAttribute("role", "status"); p.textContent = said;
    document.querySelector("main").prepend(p);
  }

  document.addEventListener("submit", async (e) => {
    const form = e.target.closest("#f-fit, #f-look, #f-remove, #f-lift, #f-open"), tag = form?.closest(".tag:not([data-walk])");
    if (!tag) return;
    e.preventDefault();
    e.stopImmediatePropagation();
    if (form.dataset.sending) return;
    form.dataset.sending = "yes";
    const waits = form.id === "f-fit" || form.id === "f-look", button = e.submitter, body = new URLSearchParams(new FormData(form));
    if (button?.name) body.set(button.name, button.value);
    const n = Number(tag.querySelector(".tag-step b")?.textContent), permit = /\/permits\/(\d+)/.exec(tag.querySelector(".over a")?.getAttribute("href"))?.[1];
    const item = { name: (form.id === "f-look" ? "the look at step " : "step ") + n, permit, n, path: form.getAttribute("action"), body: body.toString(), at: Date.now() };
    const queued = waits && outbox.list().length > 0; // in their order
    const got = queued ? undefined : await outbox.post(item);
    if (!queued) document.dispatchEvent(new CustomEvent("walk:sent", { detail: got }));
    const after = (then) => setTimeout(() => { document.dispatchEvent(new Event("outbox:leaves")); then(); }, 200); // the buzz ends with the page
    if (got?.ok) {
      sessionStorage.setItem(done, got.told.done ?? "");
      after(() => location.assign(got.told.then));
    } else if (got) {
      if (button?.name) { const i = document.createElement("input"); i.type = "hidden"; i.name = button.name; i.value = button.value; form.append(i); }
      after(() => form.submit());
    } else {
      delete form.dataset.sending;
      const p = document.createElement("p");
      p.className = "mind"; p.setAttribute("role", "status");
      if (waits) {
        outbox.keep(item);
        p.textContent = `No line. ${item.name[0].toUpperCase()}${item.name.slice(1)} is kept on this phone. It is NOT recorded yet.`;
        p.dataset.keptReading = "";
        form.replaceWith(p);
        outbox.flush();
      } else {
        form.querySelector("[data-no-line]")?.remove();
        p.dataset.noLine = "";
        p.textContent = "No line: nothing is recorded. Leave it on until there is a line. If it is off already, stay here and press again.";
        form.prepend(p);
      }
    }
  }, true);
})();
