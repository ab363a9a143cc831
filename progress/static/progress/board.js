/* The board with a script: choose all who look ready, and say how many are chosen. Everything else
   works without. */

const said = document.querySelector("[data-chosen]");
const boxes = [...document.querySelectorAll(".board-box input")];

function tell() {
  const chosen = boxes.filter((box) => box.checked).length;
  said.textContent = chosen
    ? `${chosen} chosen. Nothing is stored yet.`
    : "Tick the children you decide about. Nothing is stored yet.";
}

if (said) {
  said.setAttribute("role", "status");
  const button = document.querySelector("[data-choose-ready]");
  const ready = boxes.filter((box) => box.dataset.decision === "ready");
  button.hidden = ready.length === 0;
  button.addEventListener("click", () => {
    for (const box of ready) { box.checked = true; }
    tell();
  });
  for (const box of boxes) { box.addEventListener("change", tell); }
  tell();
}
