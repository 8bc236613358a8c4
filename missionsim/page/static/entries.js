"use strict";
/* Lists whose entries are fields: add one, take one out; what is refused stays as it was typed. */
document.addEventListener("click", async (e) => {
  const button = e.target, box = button.closest("[data-list]");
  if (button.dataset.add !== undefined && box) {
    const cells = Object.fromEntries($$("[data-cell]", box).filter((i) => i.value.trim()).map((i) => [i.dataset.cell, i.value]));
    const done = await send("/change/entry", { path: box.dataset.list, card: box.dataset.card, cells }), place = $(".fault", box);
    place.hidden = !done.faults;
    if (done.faults) place.textContent = done.faults.map(words).join(" ");
    if (done.ok) location.reload();
  } else if (button.dataset.out) {
    const { out: path, card, number, was } = button.dataset;
    const done = await send("/change/remove-entry", { path, card, number: Number(number), was });
    if (done.ok) location.reload(); else if (done.faults) say(done.faults.map(words).join(" "));
  } else if (button.dataset.begin || button.dataset.yearBy) {
    const done = button.dataset.begin ? await send(button.dataset.begin) : await send("/change/year-by", { text: button.dataset.yearBy });
    if (done.ok) location.reload(); else if (done.faults) say(done.faults.map(words).join(" "));
  }
});
for (const input of $$("[data-cell]")) input.addEventListener("keydown", (e) => { if (e.key === "Enter") $("[data-add]", input.closest("[data-list]")).click(); });

/* Airports by name, town or identifier while typing: the program searches, the browser lists them under the field. */
const found = document.createElement("datalist");
found.id = "airports";
document.body.append(found);
let latest = 0;
document.addEventListener("input", async (e) => {
  if (e.target.getAttribute("list") !== "airports" || e.target.value.trim().length < 2) return;
  const mine = ++latest;
  const rows = await fetch(`/airports?text=${encodeURIComponent(e.target.value)}`).then((r) => r.json()).catch(() => []);
  if (mine === latest) found.replaceChildren(...rows.map((r) => new Option(r.label, r.value)));
});
