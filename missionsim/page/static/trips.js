"use strict";
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
    if (td.dataset.column === "to") input.setAttribute("list", "airports");
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
      if (done.ok) { leave(sent.trim()); say(done.said || ""); refreshStrip(); then && then(); return; }
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

async function refreshStrip() {
  const text = await fetch("/year").then((r) => r.text()).catch(() => "");
  const now = text && new DOMParser().parseFromString(text, "text/html").querySelector("figure.strip");
  if (now && $("figure.strip")) { $("figure.strip").replaceWith(now); startValues(); }
}
