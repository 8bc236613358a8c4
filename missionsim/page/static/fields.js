"use strict";
/* Single fields: a fault belongs to its own field and stays until that field is right. */
async function changed(field) {
  const { change, path, card, was } = field.dataset;
  if (field.value.trim() === was.trim()) { mark(field, ""); return; }
  const done = await send(`/change/${change}`, { path, card, text: field.value, was });
  if (done.ok) {
    field.dataset.was = field.value.trim();
    field.classList.add("saved");
    mark(field, "");
    if (path === "home" || path === "year" || card) refreshSoon();
  } else if (done.faults) mark(field, done.faults.map(words).join(" "));
}

function mark(field, text) {
  const place = document.getElementById(field.getAttribute("aria-describedby"));
  field.toggleAttribute("aria-invalid", Boolean(text));
  if (text) field.setAttribute("aria-invalid", "true");
  if (place) { place.textContent = text; place.hidden = !text; }
}

for (const field of $$("[data-change]")) field.addEventListener("change", () => changed(field));

let waiting = 0;
function refreshSoon() {
  clearTimeout(waiting);
  waiting = setTimeout(() => { if (!$("[aria-invalid=true]") && !$("td input.cell")) location.reload(); }, 1200);
}
