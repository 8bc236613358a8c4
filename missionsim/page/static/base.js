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
  return `${f.label ? f.label + ": " : f.key ? f.key.replaceAll("_", " ") + " " : ""}${f.what}${f.accepted ? "; accepted: " + f.accepted : ""}${f.near ? `. Did you mean ${f.near}?` : ""}`;
}
