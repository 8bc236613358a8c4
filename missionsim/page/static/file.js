"use strict";
/* A dropped file: its columns by menus, what is doubtful and what is set aside before anything is taken. */
const file = $("#file");
if (file) {
  const counted = (n, one) => `${n} ${one}${n === 1 ? "" : "s"}`;
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
    $("#match-count").textContent = found.faults.length ? "Not read yet." : `${counted(found.count, "trip")} of ${found.year}, ${counted(found.aside.length, "row")} set aside${found.local_flights ? `, ${counted(found.local_flights, "local flight")}` : ""}.`;
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
