"use strict";
/* Sends small changes and shows what came of them. Whatever a person typed stays in its field until it is accepted. */

const $ = (sel, root = document) => root.querySelector(sel);
const $$ = (sel, root = document) => [...root.querySelectorAll(sel)];
const note = $("#note");

function say(text) { note.textContent = text; note.hidden = !text; }

async function send(path, data) {
  let answer;
  try {
    answer = await fetch(path, { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(data || {}) });
  } catch {
    say("missionsim has stopped. Start it again; everything accepted before is kept.");
    return { gone: true };
  }
  if (answer.status === 403) { say("This page is not open any more. Open the address that missionsim printed."); return { gone: true }; }
  const found = await answer.json().catch(() => ({}));
  if (answer.status === 409) { say(`Not changed: ${found.conflict}. The page shows it as it is after reloading.`); return { conflict: true }; }
  return answer.ok ? { ok: true, ...found } : { faults: found.faults || [{ what: "was refused", accepted: "" }] };
}

function words(f) {
  return `${f.key ? f.key.replaceAll("_", " ") + " " : ""}${f.what}${f.accepted ? "; accepted: " + f.accepted : ""}${f.near ? `. Did you mean ${f.near}?` : ""}`;
}

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

/* The table of trips: one stop for Tab, arrows move, Enter or typing opens a cell. */
const grid = $("table.trips");
if (grid) {
  const columns = grid.dataset.columns.split(" ");
  const cells = () => $$("tbody tr[data-row]", grid).map((tr) => $$("td[data-column]", tr));
  const first = $("td[data-column]", grid);
  if (first) first.tabIndex = 0;

  const go = (td) => { if (!td) return; $$("td[tabindex='0']", grid).forEach((x) => { x.tabIndex = -1; }); td.tabIndex = 0; td.focus(); };

  const open = (td, start) => {
    if ($("input", td)) return;
    const was = td.textContent;
    const input = document.createElement("input");
    input.className = "cell";
    input.value = start === undefined ? was : start;
    input.setAttribute("aria-label", `${td.dataset.column.replaceAll("_", " ")} of the trip of ${td.parentElement.firstElementChild.textContent}`);
    td.textContent = "";
    td.append(input);
    input.focus();
    if (start === undefined) input.select();
    let closed = false; let waiting = false; let next = null;
    const leave = (text) => { closed = true; td.textContent = text; td.title = ""; };
    const take = async (then) => {
      if (closed) return;
      if (waiting) { next = then || next; return; }   /* one answer at a time; the last wish counts */
      if (input.value.trim() === was.trim()) { leave(was); then && then(); return; }
      waiting = true;
      const sent = input.value;
      const done = await send("/change/cell", { row: td.parentElement.dataset.row, column: td.dataset.column, text: sent, was });
      waiting = false;
      if (closed) return;
      if (done.ok) { leave(sent.trim()); say(""); refreshStrip(); then && then(); return; }
      if (input.value !== sent) { const go = next; next = null; take(go); return; }
      input.setAttribute("aria-invalid", "true");
      if (done.faults) { const why = done.faults.map(words).join(" "); td.title = why; say(why); }
    };
    input.addEventListener("keydown", (e) => {
      if (e.key === "Escape") { leave(was); say(""); td.focus(); e.stopPropagation(); }
      if (e.key === "Enter") { e.preventDefault(); e.stopPropagation(); take(() => move(td, 1, 0)); }
      if (e.key.startsWith("Arrow")) e.stopPropagation();
    });
    input.addEventListener("blur", () => take());
  };

  const move = (td, down, right) => {
    const all = cells(); const y = all.findIndex((row) => row.includes(td)); if (y < 0) return;
    const x = all[y].indexOf(td);
    const row = all[Math.min(Math.max(y + down, 0), all.length - 1)];
    go(row[Math.min(Math.max(x + right, 0), row.length - 1)]);
  };

  grid.addEventListener("click", (e) => { const td = e.target.closest("td[data-column]"); if (td && !e.target.closest("input")) { go(td); open(td); } });
  grid.addEventListener("keydown", (e) => {
    const td = e.target.closest("td[data-column]");
    if (!td || e.target !== td) return;
    const steps = { ArrowDown: [1, 0], ArrowUp: [-1, 0], ArrowRight: [0, 1], ArrowLeft: [0, -1] };
    if (steps[e.key]) { e.preventDefault(); move(td, ...steps[e.key]); }
    else if (e.key === "Enter" || e.key === "F2") { e.preventDefault(); open(td); }
    else if (e.key === "Delete" && e.shiftKey) { e.preventDefault(); takeOut(td.parentElement.dataset.row); }
    else if (e.key.length === 1 && !e.ctrlKey && !e.metaKey && !e.altKey) { e.preventDefault(); open(td, e.key); }
  });

  const takeOut = async (row) => { if ((await send("/change/remove-trip", { row })).ok) location.reload(); };
  for (const button of $$("[data-remove]", grid)) button.addEventListener("click", () => takeOut(button.dataset.remove));

  /* The last line: typed or pasted rows. */
  const fresh = $$("[data-new]", grid);
  const add = async (rows) => {
    const done = await send("/trips", { rows });
    if (done.faults) { say(done.faults.map(words).join(" ")); return; }
    if (!done.ok) return;
    if (!done.refused.length) { location.reload(); return; }
    if (rows.length === 1) { say(done.refused[0].faults.map(words).join(" ")); return; }
    const list = $("#set-aside ul");
    for (const r of done.refused) {
      const li = document.createElement("li");
      li.textContent = `${Object.values(r.cells).filter(Boolean).join(" | ")}: ${r.faults.map(words).join(" ")}`;
      list.append(li);
    }
    $("#set-aside").hidden = false;
    say(`${done.added} added, ${done.refused.length} set aside below.`);
  };
  $("#add-trip").addEventListener("click", () => add([Object.fromEntries(fresh.map((i) => [i.dataset.new, i.value]))]));
  for (const input of fresh) {
    input.addEventListener("keydown", (e) => { if (e.key === "Enter") { e.preventDefault(); $("#add-trip").click(); } });
    input.addEventListener("paste", (e) => {
      const text = (e.clipboardData || window.clipboardData).getData("text");
      if (!/[\t\n]/.test(text.trim())) return;
      e.preventDefault();
      const start = columns.indexOf(input.dataset.new);
      const lines = text.replace(/\r/g, "").split("\n").filter((line) => line.trim());
      add(lines.map((line) => Object.fromEntries(line.split("\t").map((cell, i) => [columns[start + i], cell.trim()]).filter(([k]) => k))));
    });
  }
}

/* A dropped file: its columns by menus, what is doubtful and what is set aside before anything is taken. */
const file = $("#file");
if (file) {
  const items = (place, texts) => { const ul = $(place); ul.replaceChildren(...texts.map((x) => Object.assign(document.createElement("li"), { textContent: x }))); ul.hidden = !texts.length; };
  const menu = (label, options, value, onchange) => {
    const box = document.createElement("div"); box.className = "field";
    const id = `match-${label.replaceAll(/\W/g, "-")}`;
    const select = Object.assign(document.createElement("select"), { id });
    for (const [key, words] of options) select.append(Object.assign(document.createElement("option"), { value: key, textContent: words, selected: key === value }));
    select.addEventListener("change", () => onchange(select.value));
    box.append(Object.assign(document.createElement("label"), { htmlFor: id, textContent: label.replaceAll("_", " ") }), select);
    return box;
  };
  const show = (found) => {
    $("#match").hidden = false;
    $("#match-title").textContent = `${found.name}: which column is which`;
    const again = async (columns, rows) => { const next = await send("/match", { columns, rows }); if (next.ok) show(next); };
    const heads = [["", "none"], ...found.headings.filter(Boolean).map((h) => [h, h])];
    $("#match-columns").replaceChildren(
      menu("one row is", [["trips", "a trip"], ["legs", "a leg of a logbook"]], found.rows, (v) => again(found.columns, v)),
      ...found.ours.filter((o) => found.columns[o] || ["date", "time", "from", "to", "return", "people", "passengers", "bags_lb", "purpose"].includes(o)).map((ours) =>
        menu(ours, heads, found.columns[ours] || "", (v) => { const next = { ...found.columns }; if (v) next[ours] = v; else delete next[ours]; again(next, found.rows); })));
    const doubtful = found.trips.filter((x) => x.doubtful).length;
    $("#match-count").textContent = found.faults.length ? "Not read yet." : `${found.count} trips of ${found.year}, ${found.aside.length} rows set aside${found.local_flights ? `, ${found.local_flights} local flights` : ""}.`;
    $("#match-doubtful").textContent = doubtful ? `${doubtful} doubtful: away while another trip is` : "";
    $("#match-take").disabled = Boolean(found.faults.length) || !found.count;
    $("#match-take").onclick = async () => { const done = await send("/match", { columns: found.columns, rows: found.rows, take: true }); if (done.ok) location.reload(); else if (done.faults) items("#match-faults", done.faults.map(words)); };
    items("#match-faults", found.faults); items("#match-notes", found.notes);
    items("#match-trips", found.trips.map((x) => (x.doubtful ? "Doubtful: " : "") + x.words));
    items("#match-aside", found.aside.map((x) => `line ${x.line}: ${x.what}: ${x.why}`));
    $("#match-aside-part").hidden = !found.aside.length;
  };
  const take = async (chosen) => {
    let answer;
    try { answer = await fetch(`/drop?name=${encodeURIComponent(chosen.name)}`, { method: "POST", body: chosen }); } catch { say("missionsim has stopped. Start it again; everything accepted before is kept."); return; }
    const found = await answer.json().catch(() => ({}));
    const fault = $("#drop-fault");
    fault.hidden = answer.ok;
    if (answer.ok) show(found); else fault.textContent = (found.faults || [{ what: "the file was refused: at most 4 MB" }]).map(words).join(" ");
  };
  file.addEventListener("change", () => { if (file.files.length) take(file.files[0]); });
  addEventListener("dragover", (e) => e.preventDefault());
  addEventListener("drop", (e) => { e.preventDefault(); if (e.dataTransfer.files.length) take(e.dataTransfer.files[0]); });
}

async function refreshStrip() {
  const text = await fetch("/year").then((r) => r.text()).catch(() => "");
  const now = text && new DOMParser().parseFromString(text, "text/html").querySelector("figure.strip");
  if (now && $("figure.strip")) $("figure.strip").replaceWith(now);
}

/* Hangar */
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

/* Sliders that need the program. */
window.askYears = async (at) => { const done = await send("/slide", at); if (done.faults) say(done.faults.map(words).join(" ")); return done; };

/* Verdict: asks how far it is twice a second while something is flown, and seldom otherwise. */
if ($("#fly")) {
  let shown = -1; let stamp = -1;
  const press = (id, path, data) => { const b = $(id); if (b) b.addEventListener("click", async () => { const done = await send(path, data); if (done.faults) say(done.faults.map(words).join(" ")); else if (done.folder) say(`Report and tables go to ${done.folder}.`); look(); }); };
  press("#fly", "/fly", {}); press("#cancel", "/cancel", {});
  const buttons = () => { press("#more", "/fly", { years: "all" }); press("#report", "/report", {}); };
  buttons();
  const openTrip = async (number, left) => {
    const answer = await fetch(`/trip/${number}`).catch(() => null);
    if (!answer || answer.status === 404) return;
    if (answer.status === 202) { $("#trip-view").textContent = "Looking it up ..."; if (left) setTimeout(() => openTrip(number, left - 1), 400); return; }
    if ($("#trip-choice").value !== String(number)) return;
    $("#trip-view").replaceChildren(...new DOMParser().parseFromString(await answer.text(), "text/html").body.childNodes);
  };
  document.addEventListener("change", (e) => { if (e.target.id === "trip-choice" && e.target.value) openTrip(e.target.value, 60); });
  let timer = 0;
  const look = async () => {
    clearTimeout(timer);
    let s;
    try { s = await fetch("/state").then((r) => r.json()); } catch { say("missionsim has stopped. Start it again; everything accepted before is kept."); timer = setTimeout(look, 3000); return; }
    const busy = Boolean(s.phase);
    $("#phase").textContent = busy ? (s.phase === "Flying" ? `Flying: ${s.done} of ${s.wanted} years` : s.phase) : "";
    $("#progress").hidden = $("#cancel").hidden = !busy;
    $("#progress").max = s.wanted || 1; $("#progress").value = s.done;
    const faults = $("#flying-faults"); faults.replaceChildren(...s.faults.map((f) => Object.assign(document.createElement("li"), { textContent: f }))); faults.hidden = !s.faults.length;
    if (s.years !== shown || (stamp !== s.stamp && !busy)) {
      const part = await fetch("/screen").then((r) => r.text()).catch(() => "");
      // What somebody has open stays open when further years arrive.
      const open = [...document.querySelectorAll("#screen details[open][id]")].map((d) => d.id), trip = $("#trip-choice") ? $("#trip-choice").value : "";
      if (part) { $("#screen").replaceChildren(...new DOMParser().parseFromString(part, "text/html").body.childNodes); buttons(); startSliders(); }
      open.forEach((id) => { const part = document.getElementById(id); if (part) part.open = true; });
      if (trip && $("#trip-choice")) { $("#trip-choice").value = trip; openTrip(trip, 60); }
      shown = s.years;
    }
    stamp = s.stamp;
    timer = setTimeout(look, busy ? 500 : 4000);
  };
  look();
}
