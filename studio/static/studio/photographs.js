// Photographs: chosen one after another, looked at before they are sent, and how far sending and measuring are.
"use strict";
const chosen = new WeakMap();

function isSame(one, other) {
  return one.name === other.name && one.size === other.size && one.lastModified === other.lastModified;
}

function fault(input, files) {
  if (files.length > Number(input.dataset.most)) return input.dataset.tooMany.replace("{count}", files.length);
  const bytes = files.reduce((sum, file) => sum + file.size, 0);
  if (bytes > Number(input.dataset.mostBytes)) return input.dataset.tooLarge.replace("{megabytes}", Math.ceil(bytes / 1e6));
  return "";
}

function row(input, files, file) {
  const item = document.createElement("li");
  const away = document.createElement("button");
  item.append(`${file.name} · ${(file.size / 1e6).toFixed(1)} MB`, away);
  away.type = "button";
  away.className = "quiet";
  away.textContent = "Take away";
  away.setAttribute("aria-label", `Take ${file.name} away`);
  away.addEventListener("click", () => { take(input, files.filter((other) => other !== file)); input.focus(); });
  return item;
}

function take(input, files) {
  const given = new DataTransfer();
  for (const file of files) given.items.add(file);
  input.files = given.files;
  chosen.set(input, files);
  const said = fault(input, files);
  input.setCustomValidity(said);
  const words = input.form.querySelector("[data-chosen-fault]");
  words.textContent = said;
  words.hidden = !said;
  input.form.querySelector("[data-chosen]").replaceChildren(...files.map((file) => row(input, files, file)));
}

document.addEventListener("change", (event) => {
  const input = event.target;
  if (!input.matches("input[type=file][data-most]")) return;
  // A camera hands over one picture at a time: it joins those that were taken before.
  const before = chosen.get(input) ?? [];
  take(input, [...before, ...[...input.files].filter((file) => !before.some((other) => isSame(file, other)))]);
});
document.addEventListener("htmx:xhr:progress", (event) => {
  const { lengthComputable, loaded, total } = event.detail;
  const sent = event.target.querySelector("[data-sent]");
  if (sent && lengthComputable && total) sent.textContent = `, ${Math.floor((100 * loaded) / total)} %`;
});
setInterval(() => {
  for (const seconds of document.querySelectorAll("[data-seconds]")) seconds.textContent = Number(seconds.textContent) + 1;
}, 1000);
