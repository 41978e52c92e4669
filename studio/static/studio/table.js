// The pattern table: outlines that are pressed get numbers, waists are dragged. The form's own fields hold all of it.

const fieldOf = (outline) => document.getElementById(`id_number_${outline.dataset.outline}`);
const numbers = () => [...document.querySelectorAll("#table select[name^=number_]")];

function changed(field) {
  // What is on its way shows an older state than the one that is said now.
  for (const part of document.querySelectorAll("#table [hx-post]")) part.dispatchEvent(new Event("htmx:abort"));
  field.dispatchEvent(new Event("change", { bubbles: true }));
}

function showNumbers() {
  for (const outline of document.querySelectorAll("#table .may-be-panel")) {
    outline.classList.toggle("outline-panel", fieldOf(outline).value !== "0");
    outline.classList.toggle("outline-left-out", fieldOf(outline).value === "0");
  }
}

function give(field, number) {
  const other = numbers().find((one) => one !== field && one.value === String(number));
  if (![...field.options].some((option) => option.value === String(number))) return;
  if (other && number) other.value = field.value;
  field.value = String(number);
  showNumbers();
  changed(field);
}

function press(outline) {
  const field = fieldOf(outline);
  if (field.value !== "0") return give(field, 0);
  const taken = new Set(numbers().map((one) => one.value));
  let next = 1;
  while (taken.has(String(next))) next += 1;
  give(field, next);
}

document.addEventListener("click", (event) => {
  const outline = event.target.closest("#table .may-be-panel");
  if (outline) press(outline);
  if (event.target.closest("[data-number-anew]")) {
    for (const field of numbers()) field.value = "0";
    showNumbers();
    changed(numbers()[0]);
  }
});

document.addEventListener("keydown", (event) => {
  const outline = event.target.closest("#table .may-be-panel");
  if (!outline) return;
  if (event.key === "Enter" || event.key === " ") { event.preventDefault(); press(outline); }
  if (/^[0-9]$/.test(event.key)) give(fieldOf(outline), Number(event.key));
});

// Waists: a slider beside each field, and the line itself on the drawing of the piece.
function slide(slider) {
  const index = slider.dataset.slides;
  const shown = Number(slider.value) / Number(slider.dataset.mm);
  document.getElementById(`id_waist_${index}`).value = String(Math.round(shown * 100) / 100);
  const line = document.querySelector(`[data-waist-of="${index}"] .waist-line`);
  if (line) line.setAttribute("transform", `translate(0 ${Number(slider.defaultValue) - Number(slider.value)})`);
}

document.addEventListener("input", (event) => {
  if (event.target.matches("#table .waist-slide")) slide(event.target);
});

let dragged = null;
const heightAt = (svg, event) => -new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse()).y;

document.addEventListener("pointerdown", (event) => {
  const figure = event.target.closest("#table [data-waist-of]");
  if (!figure || !event.target.matches(".waist-line")) return;
  const slider = document.querySelector(`[data-slides="${figure.dataset.waistOf}"]`);
  const svg = figure.querySelector("svg");
  dragged = { slider, svg, from: heightAt(svg, event), began: Number(slider.value) };
  event.preventDefault();
});
document.addEventListener("pointermove", (event) => {
  if (!dragged) return;
  dragged.slider.value = String(dragged.began + heightAt(dragged.svg, event) - dragged.from);
  slide(dragged.slider);
});
document.addEventListener("pointerup", () => {
  if (dragged) changed(dragged.slider);
  dragged = null;
});

// Corners: the fourth one picked is said at once.
document.addEventListener("click", (event) => {
  const figure = event.target.closest("#table .picking");
  if (figure && figure.querySelector("output").textContent === "picked") changed(document.querySelector("#table [name=corners]"));
});
