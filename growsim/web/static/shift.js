// A shift's form: what was begun outlives a reload, times by a tap, Enter to the next number that is missing. It can be sent without all that.
"use strict";
(() => {
  const form = document.querySelector("form[data-draft]");
  if (!form) return;
  const key = `shift ${form.dataset.draft}`;
  const told = document.getElementById("draft");
  const boxes = () => [...form.elements].filter((box) => box.name && box.type !== "submit");

  // What was begun is kept in this browser until the page has it on the disk; with it, which entries the form had shown.
  const keep = () => localStorage.setItem(key, JSON.stringify([...new FormData(form)]));
  const restore = (said) => {
    const sent = new Map(said);
    for (const box of boxes()) {
      if (box.type === "checkbox" || box.type === "radio") box.checked = sent.get(box.name) === box.value;
      else if (sent.has(box.name) || box.name.includes("|seen|")) box.value = sent.get(box.name) ?? "";
    }
    for (const [name, value] of sent) {
      if (name.includes("|seen|") && !form.elements[name]) form.append(Object.assign(document.createElement("input"), { type: "hidden", name, value }));
    }
    for (const fold of form.querySelectorAll("details")) fold.open ||= [...fold.querySelectorAll("input:not([type=hidden]), select")].some(isTold);
  };
  const isTold = (box) => (box.type === "radio" ? box.checked !== box.defaultChecked : box.value !== (box.tagName === "SELECT" ? "" : box.defaultValue));
  if (form.dataset.is === "saved") localStorage.removeItem(key);
  history.replaceState(null, "", `${location.pathname}?${new URLSearchParams({ date: form.elements.date.value, shift: form.elements.shift.value })}`);
  const begun = localStorage.getItem(key);
  if (form.dataset.is === "typed") keep();
  else if (begun) {
    restore(JSON.parse(begun));
    told.hidden = false;
  }
  form.addEventListener("input", keep);
  told.querySelector("button").addEventListener("click", () => { localStorage.removeItem(key); location.assign(location.pathname + location.search); });

  form.querySelector("[value=all]")?.addEventListener("click", (event) => {
    event.preventDefault();
    for (const box of form.querySelectorAll("[data-all]")) box.checked = true;
    keep();
  });

  for (const button of form.querySelectorAll("[data-put]")) {
    button.parentElement.hidden = false;
    button.addEventListener("click", () => {
      const now = new Date(Date.now() - new Date().getTimezoneOffset() * 60000).toISOString().slice(0, 16);
      button.closest(".shift-box").querySelector("input").value = button.dataset.put === "now" ? now : button.dataset.put;
      keep();
    });
  }

  form.addEventListener("keydown", (event) => {
    if (event.key !== "Enter" || !event.target.matches("input, select")) return;
    event.preventDefault();  // only the button writes it down
    if (event.target.matches("[type=checkbox], [type=radio]")) event.target.click();
    if (!event.target.matches("input.number")) return;
    const all = [...form.querySelectorAll("input.number, .keep button")];
    all.slice(all.indexOf(event.target) + 1).find((box) => !box.value && box.checkVisibility()).focus();
  });
  form.addEventListener("focusin", (event) => { if (event.target.matches("input.number")) event.target.select(); });
})();
