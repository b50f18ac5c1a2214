// The pages of a job's end: the repair sheet, the proof, the letter, closing.
// What is entered goes the way of every entry (queue.js); what takes seconds to
// work out is waited for and swapped in.

import { add, flush, setAway } from "./queue.js";
import { bring } from "./entry.js";
import { refreshStrip } from "./strip.js";
import { keyOf, refocus } from "./focus.js";
import { grow } from "./age.js";
import { stream } from "./stream.js";
import { clearFaults, fault, showFaults } from "./faults.js";

const end = () => document.getElementById("end");
const job = end()?.dataset.job;
const seq = () => Number(end().dataset.seq);

// --- What is worked out ------------------------------------------------------

let fetching = false, again = null;
async function look(wait) {
  if (fetching) { again = wait; return; }
  fetching = true;
  try {
    do {
      const url = new URL(location.href);
      if (wait) url.searchParams.set("wait", "1"); else url.searchParams.delete("wait");
      again = null;
      const res = await fetch(url);
      if (res.redirected) { location.reload(); return; }
      if (res.ok) swap(new DOMParser().parseFromString(await res.text(), "text/html"));
      refreshStrip(job); // it says what was just worked out
      wait = again ?? (document.querySelector("[data-working]") ? true : null);
    } while (wait !== null);
  } catch { setAway(true); } finally { fetching = false; }
}

// swap puts the fresh page in place. Where somebody is typing into the old one,
// only what was worked out and what the bench itself tells is put in.
function swap(fresh) {
  const now = fresh.getElementById("end");
  if (!now) return;
  const dirty = [...end().querySelectorAll("input, textarea, select")].some((x) => x === document.activeElement || (x.type === "file" ? x.files.length : changedByHand(x)));
  if (!dirty) {
    const kept = document.getElementById("strip"), fresh = now.querySelector("#strip");
    const focus = end().contains(document.activeElement) ? keyOf(document.activeElement) : "";
    if (kept && fresh) fresh.replaceWith(kept);
    const folds = new Map([...end().querySelectorAll(".fold[data-touched]")].map((d) => [d.id, d.open]));
    for (const d of now.querySelectorAll(".fold")) if (folds.has(d.id)) { d.open = folds.get(d.id); d.classList.add("wired"); d.dataset.touched = "yes"; }
    end().replaceWith(now); wireAll();
    if (!refocus(focus, now)) now.querySelector("h2.title")?.focus({ preventScroll: true });
    return; }
  end().dataset.seq = now.dataset.seq;
  for (const part of now.querySelectorAll("#worked, #told-tally")) document.getElementById(part.id)?.replaceWith(part);
  wireButtons();
}
// differs is whether a field shows something else than the page came with. A select whose
// options have no default of their own shows the first.
const differs = (x) => x.type === "radio" || x.type === "checkbox" ? x.checked !== x.defaultChecked : x.tagName === "SELECT" ? x.selectedIndex !== Math.max(0, [...x.options].findIndex((o) => o.defaultSelected)) : x.value !== x.defaultValue;
const changedByHand = (x) => differs(x) && (x.tagName !== "SELECT" || x.dataset.touched);

// --- What is entered -----------------------------------------------------------

// changes puts the fields of a form that differ from what stands into an object:
// "coolant.mix" goes deep. The others may have been changed on another device since, and
// what is not sent stays. Without any it is null.
function changes(form) {
  let out = null;
  for (const x of form.elements) {
    if (!x.name || x.name === "do" || !differs(x) || x.type === "radio" && !x.checked) continue;
    const keys = x.name.split("."), last = keys.pop();
    let at = out ??= {};
    for (const k of keys) at = at[k] ??= {};
    at[last] = x.value.trim();
  }
  return out;
}

const send = (method, path, body, what, form) => add({ method, url: `/api/jobs/${job}${path}`, body, seen: Number(form?.dataset.seen ?? seq()), what });

const asItStands = { ok: true }; // nothing was changed: nothing is sent

const kinds = {
  async maker(form) {
    const list = [...form.querySelectorAll(".datum")].filter((d) => [...d.querySelectorAll("input")].some(differs)).map((d) => ({ what: d.querySelector("[data-what]").dataset.what, says: d.querySelector("[data-what]").value, from: d.querySelector("[data-from]").value }));
    return [list.length ? await send("PATCH", "/maker", list, "the maker's data", form) : asItStands, "Kept with the job."];
  },
  async closing(form) {
    const changed = changes(form);
    return [changed ? await send("PATCH", "/closing", changed, "the coolant's record", form) : asItStands, "Kept with the job."];
  },
  async repair(form, by) {
    const f = { repair: form.elements.repair.value, changed: by?.value || "unknown" };
    const minutes = form.elements.minutes.value.trim();
    if (minutes) f.minutes = /^\d+$/.test(minutes) ? minutes + " min" : minutes;
    for (const k of ["parts", "part", "note"]) if (form.elements[k].value.trim()) f[k] = form.elements[k].value.trim();
    return [await send("POST", "/findings", f, "the repair"), "Written down.", `/jobs/${job}/proof`];
  },
  async log(form) {
    const name = await bring(job, form.elements.file.files[0]);
    const f = { check: form.elements.check.value, trace: name };
    if (form.elements["air-con"].value !== "unknown") f["air-con"] = form.elements["air-con"].value;
    if (form.elements.ambient.value.trim()) f.ambient = form.elements.ambient.value.trim();
    return [await send("POST", "/findings", f, "the run's log"), "Kept. It is being judged."];
  },
  async close(form, by) {
    const changed = changes(form);
    const kept = changed ? await send("PATCH", "/closing", changed, "the closing", form) : asItStands;
    if (kept && !kept.ok || by?.value === "keep") return [kept, "Kept."];
    const what = by?.value === "reopen" ? "reopen" : "close";
    return [await send("POST", "/" + what, undefined, what + " the job"), what === "close" ? "Closed." : "Open again."];
  },
};

// keepForm takes what stands in a form for kept; what is entered each time is
// emptied.
function keepForm(form) {
  if (form.dataset.send === "repair" || form.dataset.send === "log") { form.reset(); return; }
  for (const x of form.elements) {
    if (x.type === "radio" || x.type === "checkbox") x.defaultChecked = x.checked;
    else if (x.tagName === "SELECT") { for (const o of x.options) o.defaultSelected = o.selected; delete x.dataset.touched; }
    else if ("defaultValue" in x) x.defaultValue = x.value;
  }
}

const said = {}; // what was told last beneath each form; a swap keeps it
function wire(form) {
  form.dataset.seen = seq();
  form.querySelector(".told").textContent = said[form.dataset.send] || "";
  form.addEventListener("change", (ev) => { ev.target.dataset.touched = "yes"; });
  form.addEventListener("submit", async (ev) => {
    ev.preventDefault();
    const told = form.querySelector(".told");
    told.textContent = said[form.dataset.send] = "";
    clearFaults(form);
    let answer, says, to;
    try { [answer, says, to] = await kinds[form.dataset.send](form, ev.submitter); } catch (e) { if (form.elements.file) fault(form.elements.file, e.message); else told.textContent = e.message; return; }
    if (answer?.seq) form.dataset.seen = answer.seq; // what stands by now is before his eyes
    if (answer && !answer.ok) { told.textContent = showFaults(answer, (field) => form.elements[field.replace(/^closing\./, "")] || (field === "trace" ? form.elements.file : null)); return; }
    if (!answer) { told.textContent = "It is kept on this device and sent when the bench answers."; return; }
    if (to) { location.assign(to); return; }
    if (form.contains(document.activeElement)) ev.submitter?.focus({ preventScroll: true }); // a field that has the focus is not swapped
    keepForm(form);
    told.textContent = said[form.dataset.send] = says;
    look(false);
  });
}

// unfold opens the parts of a sheet where there is room for them; a phone begins with
// the order of work, and the rest a tap away.
function unfold() {
  for (const d of document.querySelectorAll(".fold:not(.wired)")) {
    if (matchMedia("(min-width: 48rem)").matches) d.open = true;
    d.classList.add("wired");
  }
}

// What somebody has opened or shut stays so; the rest is as the bench has it.
document.addEventListener("click", (ev) => { const s = ev.target.closest?.(".fold > summary"); if (s) s.parentElement.dataset.touched = "yes"; });

function wireAll() {
  unfold();
  document.querySelectorAll("form[data-send]").forEach(wire);
  wireButtons();
}
function wireButtons() {
  grow();
  const on = (id, f) => { const b = document.getElementById(id); if (b) b.onclick = f; };
  on("print", () => print());
  on("copy", copy);
}

// copy works without a secure context, which a shop's network is not.
function copy() {
  const words = document.getElementById("short");
  getSelection().selectAllChildren(words);
  const done = document.execCommand("copy");
  document.getElementById("copied").textContent = done ? "Copied." : "The words are marked; copy them by hand.";
}

for (const button of document.querySelectorAll("[data-uncount]")) button.addEventListener("click", async () => {
  const res = await fetch(`/api/jobs/${encodeURIComponent(button.dataset.uncount)}/tally?why=${encodeURIComponent("taken out on the tally's page")}`, { method: "DELETE" });
  if (res.ok) location.reload(); else document.querySelector(".told").textContent = (await res.json()).error.message;
});

// A log may be dropped anywhere on a page that takes one: it is put into its form, and one
// tap judges by it.
const takes = () => document.querySelector("form[data-send=log]");
const carries = (ev) => takes() && ev.dataTransfer?.types.includes("Files");
addEventListener("dragover", (ev) => { if (carries(ev)) { ev.preventDefault(); document.body.classList.add("dropping"); } });
addEventListener("dragleave", (ev) => { if (!ev.relatedTarget) document.body.classList.remove("dropping"); });
addEventListener("drop", (ev) => {
  document.body.classList.remove("dropping");
  if (!carries(ev)) return;
  ev.preventDefault();
  const form = takes(), file = form.elements.file;
  clearFaults(form);
  file.files = ev.dataTransfer.files;
  const fold = form.closest("details");
  if (fold) { fold.open = true; fold.dataset.touched = "yes"; }
  form.querySelector(".told").textContent = `${file.files[0].name} is chosen. Say what it is of, then judge by it.`;
  form.querySelector("button.main").focus();
});

// progress fills while something is worked out; it never says that it is done.
setInterval(() => {
  for (const w of document.querySelectorAll("[data-working][data-of]")) {
    const of = Number(w.dataset.of), bar = w.querySelector("progress");
    if (!of || !bar) continue;
    w.since ??= performance.now() - 1000 * (of - Number(w.dataset.remains));
    const gone = (performance.now() - w.since) / 1000;
    bar.value = Math.min(95, 100 * gone / of);
    const left = Math.ceil(of - gone);
    w.querySelector("[data-left]").textContent = left > 0 ? `About ${left} s.` : "Any moment.";
  }
}, 500);

if (job) {
  wireAll();
  if (document.querySelector("[data-working]")) look(true);
  stream(`/api/jobs/${job}/events`, {
    hello: (e) => { setAway(false); flush(); if (JSON.parse(e.data).seq !== seq()) look(false); },
    entry: () => { refreshStrip(job); look(false); },
    here: () => refreshStrip(job),
    answer: () => { refreshStrip(job); if (document.querySelector(".tree")) look(false); }, // the plan is of that answer
  }, () => setAway(true));
}
