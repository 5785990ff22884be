// A slider and a play button for the days. Without script there are links.
"use strict";
(() => {
  const box = document.getElementById("day");
  const own = box.dataset.own;
  const last = Number(box.dataset.days) - 1;
  let day = Number(box.dataset.day);
  let timer = 0;
  let asked = 0;

  const bar = document.createElement("div");
  bar.className = "day-nav";
  const play = document.createElement("button");
  play.type = "button";
  play.className = "other";
  play.textContent = "Play";
  const label = document.createElement("label");
  label.textContent = "Day of the year";
  label.htmlFor = "slider";
  const slider = document.createElement("input");
  Object.assign(slider, { type: "range", id: "slider", className: "day-slider", min: 0, max: last, value: day });
  const tell = document.createElement("p");
  tell.className = "small quiet";
  tell.setAttribute("role", "status");
  bar.append(play, label, slider);
  box.before(bar, tell);

  const show = async (wanted) => {
    day = Math.min(last, Math.max(0, wanted));
    slider.value = day;
    const number = ++asked;
    try {
      const answer = await fetch(`${own}?part&day=${day}`);
      if (!answer.ok) { throw new Error(answer.status); }
      const text = await answer.text();
      if (number !== asked) { return; }
      const open = box.querySelector("details")?.open;
      box.innerHTML = text;
      if (open) { box.querySelector("details").open = true; }
      slider.setAttribute("aria-valuetext", box.querySelector("#date").textContent.trim());
      history.replaceState(null, "", `${own}?day=${day}`);
      tell.textContent = "";
    } catch {
      stop();
      tell.textContent = "The page does not answer: is growsim still open?";
    }
  };
  const stop = () => { clearTimeout(timer); timer = 0; play.textContent = "Play"; };
  const step = async () => {
    if (day >= last) { stop(); return; }
    await show(day + 1);
    if (timer) { timer = setTimeout(step, 700); }
  };
  play.addEventListener("click", () => {
    if (timer) { stop(); return; }
    if (day >= last) { day = -1; }
    play.textContent = "Stop";
    timer = setTimeout(step, 50);
  });
  slider.addEventListener("input", () => { stop(); show(Number(slider.value)); });
  box.addEventListener("click", (event) => {
    const link = event.target.closest(".day-nav a");
    if (!link) { return; }
    event.preventDefault();
    stop();
    const words = link.textContent;
    show(Number(new URL(link.href).searchParams.get("day"))).then(() => {
      const same = [...box.querySelectorAll(".day-nav a")].find((each) => each.textContent === words);
      (same || box.querySelector("#date")).focus();
    });
  });
})();
