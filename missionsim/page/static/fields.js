"use strict";
/* Single fields: a fault belongs to its own field and stays until that field is right. */
async function changed(field) {
  if (field.dataset.sending) { field.dataset.again = "yes"; return; }   /* one answer at a time; the last wish counts */
  field.dataset.sending = "yes";
  await sent(field);
  delete field.dataset.sending;
  if (field.dataset.again) { delete field.dataset.again; changed(field); }
}

async function sent(field) {
  const { change, path, card, was } = field.dataset, text = field.value;
  if (field.value.trim() === was.trim()) { mark(field, ""); return; }
  const done = await send(`/change/${change}`, { path, card, text, was });
  if (done.ok) {
    field.dataset.was = text.trim();
    field.classList.add("saved");
    mark(field, "");
    say(done.still.length ? `Kept. What still does not fit: ${done.still.map(words).join(" ")}` : "");
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
  const typing = () => $$("[data-change]").some((f) => f.value.trim() !== f.dataset.was.trim()) || $("td input.cell");
  waiting = setTimeout(() => { if (typing()) refreshSoon(); else if (!$("[aria-invalid=true]")) location.reload(); }, 1200);
}
