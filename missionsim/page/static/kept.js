"use strict";
/* Kept runs: a name keeps the years one has in front of one; comparing two is a plain form. */
const runName = $("#run-name");
if (runName) {
  const again = async () => {
    $("#kept").replaceChildren(...new DOMParser().parseFromString(await fetch("/kept").then((r) => r.text()), "text/html").body.childNodes);
  };
  const keep = async () => {
    const shown = $("#shown");
    const done = await send("/keep", { name: runName.value, shown: shown ? Number(shown.dataset.shown) : 0 });
    mark(runName, done.faults ? done.faults.map(words).join(" ") : "");
    if (!done.ok) return;
    say(`Kept as ${runName.value.trim()}.`);
    runName.value = "";
    again();
  };
  $("#keep").addEventListener("click", keep);
  runName.addEventListener("keydown", (e) => { if (e.key === "Enter") keep(); });
  $("#kept").addEventListener("click", async (e) => {
    const run = e.target.dataset.forget;
    if (run && (await send("/forget", { run })).ok) { await again(); runName.focus(); }
  });
}
const printed = $("#print");
if (printed) printed.addEventListener("click", () => window.print());
