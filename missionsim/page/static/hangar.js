"use strict";
/* Hangar; what an aircraft carries how far is drawn once the study is laid out. */
if ($("article.card") && !$("figure.reach")) {
  const wait = async () => { const s = await fetch("/state").then((r) => r.json()).catch(() => ({})); if (!s.reach) { later = true; setTimeout(wait, 2000); } else if (later) refreshSoon(); };
  let later = false;      /* what is there already is on the page as far as it fits */
  wait();
}
const text = $("#new-aircraft");
if (text) {
  $("#add-aircraft").addEventListener("click", async () => {
    const done = await send("/change/aircraft", { text: text.value });
    if (done.ok) location.reload(); else if (done.faults) mark(text, done.faults.map(words).join(" "));
  });
  const row = (f) => {
    const tr = document.createElement("tr");
    const tick = Object.assign(document.createElement("input"), { type: "checkbox", value: f.key });
    tick.setAttribute("aria-label", `Accept ${f.label} ${f.value}`);
    const cells = [tick, f.label, f.value, `\u201c${f.words}\u201d`, f.how].map((c) => { const td = document.createElement("td"); td.append(c); return td; });
    tr.append(...cells);
    return tr;
  };
  $("#read-words").addEventListener("click", async () => {
    const found = await send("/advertisement", { text: text.value });
    if (found.faults) { mark(text, found.faults.map(words).join(" ")); return; }
    if (!found.ok) return;
    mark(text, "");
    $("#proposal").hidden = false;
    $("#proposal-name").value = found.name;
    $("#proposal-kind").textContent = found.kind ? `Taken for: ${found.kind}, from ${found.kind_from.map((w) => `\u201c${w}\u201d`).join(", ")}.` : "The words do not say what kind of aircraft it is.";
    $("#proposal-figures").replaceChildren(...found.figures.map(row));
    $("#proposal-unread").hidden = !found.unread.length;
    $("#proposal-unread p").textContent = found.unread.join("; ");
    $("#proposal-letter").hidden = !found.questions.length;
    $("#letter").value = found.letter;
    $("#proposal-name").focus();
  });
  $("#tick-all").addEventListener("click", () => $$("#proposal-figures input").forEach((i) => { i.checked = true; }));
  $("#accept").addEventListener("click", async () => {
    const accepted = $$("#proposal-figures input:checked").map((i) => i.value);
    const done = await send("/change/advertised", { text: text.value, name: $("#proposal-name").value, accepted });
    if (done.ok) location.reload(); else if (done.faults) say(done.faults.map(words).join(" "));
  });
  for (const b of $$("[data-remove-aircraft]")) b.addEventListener("click", async () => {
    if ((await send("/change/remove-aircraft", { card: b.dataset.removeAircraft })).ok) location.reload();
  });
}
