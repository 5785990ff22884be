// What the page does by script; all of it can be done without.
"use strict";

// The plan is drawn anew while a form about racks or trays is being filled in; without script, on saving.
for (const form of document.querySelectorAll("form[data-plan]")) {
  const plan = document.getElementById(form.dataset.plan);
  let waiting = 0;
  form.addEventListener("input", () => {
    clearTimeout(waiting);
    waiting = setTimeout(async () => {
      const sent = new FormData(form);
      sent.set("do", "preview");
      const answer = await fetch(form.action, { method: "POST", body: new URLSearchParams(sent) }).catch(() => null);
      if (answer && answer.ok) plan.innerHTML = await answer.text();
    }, 300);
  });
}

// A figure typed again as it stood is the planner's own from then on; without script, a tick says it of all that is marked.
for (const form of document.querySelectorAll("form[data-touch]")) {
  const touched = new Set();
  form.addEventListener("input", ({ target }) => {
    if (!target.name || touched.has(target.name)) return;
    touched.add(target.name);
    form.append(Object.assign(document.createElement("input"), { type: "hidden", name: "touched", value: target.name }));
  });
}

// Beside an amount typed in another unit stands the same in the room's, asked of the page while one types; without script, on saving.
for (const form of document.querySelectorAll("form.room-form")) {
  const waiting = new Map();
  form.addEventListener("input", (event) => {
    const box = event.target;
    if (!box.dataset.beside) return;
    clearTimeout(waiting.get(box));
    waiting.set(box, setTimeout(async () => {
      const typed = box.value;
      const answer = await fetch(`${box.dataset.beside}&text=${encodeURIComponent(typed)}`).catch(() => null);
      if (answer && answer.ok && box.value === typed) {
        document.getElementById(`${box.id}-other`).textContent = await answer.text();
      }
    }, 120));
  });
}

// Leaving a form with something typed and not saved is asked about, in the browser's own words.
for (const form of document.querySelectorAll("form.room-form:not([data-draft])")) {
  let unsaved = false;
  form.addEventListener("input", () => { unsaved = true; });
  form.addEventListener("submit", () => { unsaved = false; });
  window.addEventListener("beforeunload", (event) => { if (unsaved) event.preventDefault(); });
}
