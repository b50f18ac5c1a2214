// The panel of a place: from what is typed and tapped to a finding.

import { add } from "./queue.js";
import { clearFaults, fault, showFaults } from "./faults.js";

const coarse = matchMedia("(pointer: coarse)").matches;

// wire makes the forms beneath root work. about tells the job, what its page has
// seen, which finding is being corrected and what had been seen when that began;
// done is called when one is kept.
export function wire(root, about, done) {
  const read = readCautions(about.job);
  for (const form of root.querySelectorAll("form.check")) {
    // A caution stands whole until a finding was entered beneath it; then it is one
    // line, and its text a tap away. One that is new to this job stands whole.
    const cautions = form.querySelector("[data-cautions]");
    if (cautions) cautions.open = ![...cautions.querySelectorAll("li")].every((li) => read.has(li.dataset.hazard) || read.has(li.textContent));
    form.addEventListener("submit", (ev) => { ev.preventDefault(); enter(form, ev.submitter, about, done); });
    for (const input of form.querySelectorAll("[data-reading]")) {
      if (coarse) input.inputMode = "none"; // the large keys below are the keyboard
      input.addEventListener("focus", () => keys(input));
    }
  }
}

// readCautions are the cautions that were read in a job, on this device: ids of their
// hazards. What was kept before the ids were stands there by its text.
const readCautions = (job) => { try { return new Set(JSON.parse(localStorage.getItem("weephole-read-" + job)) || []); } catch { return new Set(); } };
function cautionsRead(job, form) {
  const read = readCautions(job);
  for (const li of form.querySelectorAll("[data-cautions] li")) read.add(li.dataset.hazard);
  try { localStorage.setItem("weephole-read-" + job, JSON.stringify([...read])); } catch { /* they stand whole again */ }
}

// keys puts the large keys under a reading.
function keys(input) {
  document.querySelectorAll(".keys").forEach((k) => { if (k.previousElementSibling !== input) k.remove(); });
  const reading = input.closest(".reading");
  if (reading.querySelector(".keys")) return;
  const box = document.createElement("div");
  box.className = "keys"; box.setAttribute("role", "group"); box.setAttribute("aria-label", "Number keys");
  for (const k of ["7", "8", "9", "⌫", "4", "5", "6", "−", "1", "2", "3", "unit", "0", ".", "Enter"]) {
    const unit = reading.querySelector("[data-unit]");
    if (k === "unit" && !unit) continue;
    const b = document.createElement("button");
    b.type = k === "Enter" ? "submit" : "button"; b.textContent = k; b.tabIndex = -1;
    if (k === "⌫") b.setAttribute("aria-label", "take back");
    if (k === "unit") {
      const says = () => { b.textContent = unit.value; b.setAttribute("aria-label", `unit: ${unit.value}, change`); };
      says();
      b.className = "unit-key";
      b.addEventListener("pointerdown", (e) => e.preventDefault());
      b.addEventListener("click", () => { unit.selectedIndex = (unit.selectedIndex + 1) % unit.length; says(); });
      box.append(b);
      continue;
    }
    if (k === "−") b.setAttribute("aria-label", "minus");
    if (k === "Enter") b.className = "wide main";
    box.append(b);
    if (k === "Enter") continue;
    b.addEventListener("pointerdown", (e) => e.preventDefault()); // the reading keeps the focus
    b.addEventListener("click", () => {
      if (k === "⌫") input.value = input.value.slice(0, -1);
      else if (k === "−") input.value = input.value.startsWith("-") ? input.value.slice(1) : "-" + input.value;
      else input.value += k;
    });
  }
  reading.append(box);
  if (coarse) reading.scrollIntoView({ block: "start" });
}

// findingOf reads a form.
function findingOf(form, submitter) {
  const f = {}, note = form.querySelector("[data-note]").value.trim();
  const notes = note ? [note] : [];
  if (submitter?.dataset.why) notes.push(submitter.dataset.why);
  if (form.dataset.repairs !== undefined) {
    f.repair = form.querySelector("[data-repair]").value;
    f.changed = submitter?.dataset.changed || "unknown";
    const minutes = form.querySelector("[data-minutes]").value.trim(), parts = form.querySelector("[data-parts]").value.trim();
    if (minutes) f.minutes = /^\d+$/.test(minutes) ? minutes + " min" : minutes;
    if (parts) f.parts = parts;
  } else {
    f.check = form.dataset.check;
    const read = {};
    for (const input of form.querySelectorAll("[data-reading]")) {
      const v = input.value.trim().replace(",", ".");
      if (!v) continue;
      const unit = input.closest(".reading").querySelector("[data-unit]")?.value;
      read[input.dataset.reading] = /[a-z%°]/i.test(v) || !unit ? v : `${v} ${unit}`;
    }
    if (Object.keys(read).length) {
      f.read = read;
      const by = form.querySelector("[data-instrument]")?.value;
      if (by) notes.push("read with " + by);
    }
    if (submitter?.dataset.word) f.found = submitter.dataset.word;
  }
  if (notes.length) f.note = notes.join("; ");
  return f;
}

// fieldOf is where a field of a finding is typed.
const fieldOf = (form, field) => field.startsWith("read.") ? form.querySelector(`[data-reading="${field.slice(5)}"]`)
  : form.querySelector({ trace: "[data-log]", minutes: "[data-minutes]", parts: "[data-parts]", note: "[data-note]", repair: "[data-repair]" }[field] || "not-there");

async function enter(form, submitter, about, done) {
  const told = form.querySelector(".told");
  told.textContent = "";
  clearFaults(form);
  const f = findingOf(form, submitter);
  const log = form.querySelector("[data-log]")?.files[0];
  if (log) {
    const name = await bring(about.job, log).catch((e) => { fault(form.querySelector("[data-log]"), e.message); return null; });
    if (!name) return;
    f.trace = name;
    delete f.found;
  }
  const kept = [];
  for (const input of form.querySelectorAll("[data-attach]")) {
    if (!input.files[0]) continue;
    const name = await bring(about.job, input.files[0]).catch((e) => { fault(input, e.message); return null; });
    if (!name) return;
    kept.push(name);
  }
  if (kept.length) f.note = [f.note, "with " + kept.join(", ")].filter(Boolean).join("; ");
  if (f.check && !f.read && !f.found && !f.trace) {
    const says = form.querySelector("[data-word]:not([data-word=unknown])") ? "Type the reading first, or tap what you saw." : "Type the reading first.", input = form.querySelector("[data-reading]");
    if (input) { fault(input, says); input.focus(); } else told.textContent = says;
    return;
  }
  if (f.read && !form.dataset.sure && await doubted(form, f, about)) return;
  delete form.dataset.sure;
  cautionsRead(about.job, form);
  const url = `/api/jobs/${about.job}/findings`;
  // In people's words, for the list of what was not sent yet.
  const what = form.querySelector("h3")?.textContent || form.querySelector("[data-repair] option:checked")?.textContent || "An entry";
  const says = submitter?.dataset.word || submitter?.dataset.changed ? submitter.textContent.trim() : "";
  const entry = about.correct
    ? { method: "PUT", url: `${url}/${about.correct}`, body: f, seen: about.seen, what, says }
    : { method: "POST", url: url + (f.read && !f.found ? "?join=true" : ""), body: f, seen: about.seq(), what, says };
  const answer = await add(entry);
  if (answer && !answer.ok && !answer.later) {
    told.textContent = showFaults(answer, (field) => fieldOf(form, field));
    if (answer.seq) about.seen = answer.seq; // both are before his eyes: what he enters now he enters knowingly
    return;
  }
  form.reset();
  done(answer, f, answer?.later ? answer.message : "");
}

// bring sends a file and gives the name under which it is kept. Files do not
// wait in the queue: the device has them anyway.
export async function bring(job, file) {
  let res;
  try {
    res = await fetch(`/api/jobs/${job}/files?name=${encodeURIComponent(file.name)}`, { method: "POST", body: file, headers: { "Content-Type": "application/octet-stream" } });
  } catch { throw new Error("The bench does not answer. Bring the file again when it does; it is still on this device."); }
  const answer = await res.json();
  if (!res.ok) throw new Error(answer.error.message);
  return answer.name;
}

// doubted asks about a reading that was probably meant in another unit. Where the
// bench does not answer at once, nothing is asked.
const ASKED = 1500; // ms, judgement
async function doubted(form, f, about) {
  let list = [];
  try {
    const res = await fetch(`/api/jobs/${about.job}/doubts`, { method: "POST", body: JSON.stringify(f), signal: AbortSignal.timeout(ASKED), headers: { "Content-Type": "application/json" } });
    if (res.ok) list = (await res.json()).doubts;
  } catch { return false; }
  const box = form.querySelector(".doubt");
  box.replaceChildren();
  if (!list.length) return false;
  const d = list[0], input = form.querySelector(`[data-reading="${d.reading}"]`), select = input.closest(".reading").querySelector("[data-unit]");
  box.append(Object.assign(document.createElement("p"), { textContent: d.asks }));
  const choose = (text, act) => {
    const b = Object.assign(document.createElement("button"), { type: "button", textContent: text });
    b.onclick = () => { act(); box.replaceChildren(); form.requestSubmit(form.querySelector("button.main")); };
    box.append(b);
    return b;
  };
  choose(d.instead, () => {
    input.value = d.number;
    if (select && [...select.options].some((o) => o.value === d.unit)) select.value = d.unit; else input.value = d.instead;
  }).focus();
  choose(d.keep + " is right", () => { form.dataset.sure = "yes"; });
  box.scrollIntoView({ block: "nearest" });
  return true;
}
