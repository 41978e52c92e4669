// Picking corners: four marks a panel, in order, written into the form's hidden field.
"use strict";
const ORDER = ["bottom front", "bottom back", "top back", "top front"];
let picked = new Map();

function show(figure) {
  const marks = picked.get(figure) ?? [];
  const output = figure.querySelector("output");
  output.textContent = marks.length < ORDER.length ? `press ${ORDER[marks.length]}` : "picked";
  for (const mark of figure.querySelectorAll(".corner-mark")) mark.classList.toggle("is-picked", marks.includes(mark));
  const whole = [...picked].filter(([, chosen]) => chosen.length === ORDER.length);
  document.querySelector("[name=corners]").value = whole
    .map(([panel, chosen]) => `${panel.dataset.panel}:${chosen.map((mark) => `${mark.dataset.x},${mark.dataset.y}`).join(";")}`)
    .join(" ");
}

function press(mark) {
  const figure = mark.closest(".picking");
  const marks = picked.get(figure) ?? [];
  picked.set(figure, marks.length < ORDER.length && !marks.includes(mark) ? [...marks, mark] : []);
  show(figure);
}

function begin() {
  picked = new Map();
  for (const figure of document.querySelectorAll(".picking")) show(figure);
}

document.addEventListener("click", (event) => {
  const mark = event.target.closest(".corner-mark");
  if (mark) press(mark);
});
document.addEventListener("keydown", (event) => {
  const mark = event.target.closest(".corner-mark");
  if (mark && (event.key === "Enter" || event.key === " ")) { event.preventDefault(); press(mark); }
});
// The answer to a file that was handed in is put into the page while the file stays chosen.
document.addEventListener("htmx:afterSwap", begin);
document.addEventListener("DOMContentLoaded", begin);
