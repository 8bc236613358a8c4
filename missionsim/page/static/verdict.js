"use strict";
/* Sliders that need the program. */
window.askYears = async (at) => { const done = await send("/slide", at); if (done.faults) say(done.faults.map(words).join(" ")); return done; };

/* Verdict: asks how far it is twice a second while something is flown, and seldom otherwise. */
if ($("#fly")) {
  let shown = -1; let stamp = -1;
  const press = (id, path, data) => { const b = $(id); if (b) b.addEventListener("click", async () => { const done = await send(path, data); if (done.faults) say(done.faults.map(words).join(" ")); else if (done.folder) say(`Report and tables go to ${done.folder}.`); look(); }); };
  press("#fly", $("#fly").dataset.to || "/fly", {}); press("#cancel", "/cancel", {});
  const buttons = () => { press("#more", $("#fly").dataset.to || "/fly", { years: "all" }); press("#report", $("#screen").dataset.report || "/report", {}); press("#grid", "/grid", {}); };
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
    const faults = $("#flying-faults"); faults.replaceChildren(...s.faults.map((f) => Object.assign(document.createElement("li"), { textContent: f }))); faults.hidden = !s.faults.length;
    if (s.shown !== shown || (stamp !== s.stamp && !busy)) {
      // What somebody has open or moved stays so when further years arrive; the end is told once they are shown.
      const part = await fetch($("#screen").dataset.from || "/screen").then((r) => r.text()).catch(() => "");
      const open = [...document.querySelectorAll("#screen details[open][id]")].map((d) => d.id), trip = $("#trip-choice") ? $("#trip-choice").value : "";
      const moved = [...document.querySelectorAll("#screen input[type=range][id]")].filter((i) => i.value !== i.defaultValue).map((i) => [i.id, i.value]);
      if (part) { $("#screen").replaceChildren(...new DOMParser().parseFromString(part, "text/html").body.childNodes); buttons(); startSliders(); startValues(); startGrid(); }
      moved.forEach(([id, value]) => { const slider = document.getElementById(id); if (slider) { slider.value = value; slider.dispatchEvent(new Event("input", { bubbles: true })); } });
      open.forEach((id) => { const part = document.getElementById(id); if (part) part.open = true; });
      if (trip && $("#trip-choice")) { $("#trip-choice").value = trip; openTrip(trip, 60); }
      shown = s.shown;
    }
    $("#phase").textContent = busy ? (s.phase === "Flying" ? `Flying: ${s.done} of ${s.wanted} years` : s.phase) : "";
    $("#progress").hidden = $("#cancel").hidden = !busy;
    $("#progress").max = s.wanted || 1; $("#progress").value = s.done;
    stamp = s.stamp;
    timer = setTimeout(look, busy ? 500 : 4000);
  };
  look();
}
