// Looks how far a question is, every second, and shows the answer when it is there. Without script there is a link.
"use strict";
for (const box of document.querySelectorAll(".progress[data-state]")) {
  const doing = box.querySelector(".progress-doing");
  const left = box.querySelector(".progress-left");
  const bar = box.querySelector("progress");
  const soFar = box.querySelector(".progress-so-far");
  let misses = 0;
  const look = async () => {
    try {
      const answer = await fetch(box.dataset.state, { headers: { Accept: "application/json" } });
      if (!answer.ok) { location.reload(); return; }
      const now = await answer.json();
      if (now.over) { location.reload(); return; }
      doing.textContent = now.doing;
      left.textContent = now.left ? ", " + now.left : "";
      if (soFar && soFar.textContent !== now.so_far) { soFar.textContent = now.so_far; }
      if (now.percent === null) { bar.removeAttribute("value"); } else { bar.value = now.percent; }
      misses = 0;
    } catch {
      misses += 1;
      if (misses === 5) { left.textContent = " (the page does not answer: is growsim still open?)"; }
    }
    setTimeout(look, misses ? 3000 : 1000);
  };
  setTimeout(look, 700);
}
