// The page of a job: keeps its parts in step with the bench, opens places, and
// sends what is entered.

import { add, flush, setAway, onChange, pending, why } from "./queue.js";
import { wire, bring } from "./entry.js";
import { still, release, frame } from "./still.js";
import { count } from "./cap.js";
import { refreshStrip } from "./strip.js";
import { keyOf, refocus } from "./focus.js";
import { stream } from "./stream.js";
import { clearFaults, showFaults } from "./faults.js";
import { undoes } from "./undo.js";

const root = document.getElementById("job");
const job = root.dataset.job;
const place = document.getElementById("place"), body = document.getElementById("place-body");
const seq = () => Number(root.dataset.seq);
const { undoable, offerUndo, undo, undoNote, told } = undoes(root, job, (entry) => add(entry).then((a) => told(a)).then(refreshFreely), (text) => alertLine(text));

// --- Parts -----------------------------------------------------------------

let fetching = false, again = false;
let freely = false; // the next change is what somebody here has just asked for
const refreshFreely = () => { freely = true; return refresh(); };
async function refresh() {
  refreshStrip(job);
  if (fetching) { again = true; return; }
  fetching = true;
  try {
    do {
      await released();
      again = false;
      const res = await fetch(`/jobs/${job}/parts`);
      if (res.redirected) { location.reload(); return; }
      if (!res.ok) break;
      await swap(new DOMParser().parseFromString(await res.text(), "text/html"));
    } while (again);
  } catch { setAway(true); } finally { fetching = false; }
}

// released waits until no finger is down: a part that is swapped between press
// and release would lose the tap.
let down = false;
addEventListener("pointerdown", () => { down = true; }, true);
for (const name of ["pointerup", "pointercancel"]) addEventListener(name, () => setTimeout(() => { down = false; }, 50), true);
const released = async () => { for (let i = 0; down && i < 40; i++) await new Promise((r) => setTimeout(r, 50)); };

// swap puts the parts that differ in place of the old ones. What is open stays
// open, and what has the focus keeps it.
async function swap(fresh) {
  root.dataset.seq = fresh.querySelector("[data-seq]").dataset.seq;
  const free = freely;
  freely = false;
  if (free) release();
  for (const part of fresh.querySelectorAll("[data-part]")) {
    const old = root.querySelector(`[data-part="${part.dataset.part}"]`);
    if (!old || old.innerHTML === part.innerHTML) continue;
    const opened = new Set([...old.querySelectorAll("details[open]")].map((d) => d.id));
    const focus = old.contains(document.activeElement) ? keyOf(document.activeElement) : "";
    const scrolled = still(old, () => {
      old.innerHTML = part.innerHTML;
      for (const d of old.querySelectorAll("details")) if (opened.has(d.id)) d.open = true;
    }, free);
    refocus(focus, old);
    if (scrolled) { await frame(); await released(); }
  }
  offerUndo();
  unsent();
  count();
  fillExpected();
}

// --- The bench's own news --------------------------------------------------

const listen = () => stream(`/api/jobs/${job}/events`, {
  hello: () => { setAway(false); flush(); refresh(); loadPanels(); },
  entry: refresh,
  here: () => refreshStrip(job),
  answer: () => { refresh(); expected = null; loadExpected(); fillAnswer(); },
}, () => setAway(true));

// --- Places ----------------------------------------------------------------

let panels = null, expected = null;
async function loadPanels() {
  if (panels) return;
  try {
    const res = await fetch(`/jobs/${job}/panels`);
    if (res.ok) panels = new DOMParser().parseFromString(await res.text(), "text/html");
  } catch { /* the bench is away; asked again at its next hello */ }
}
async function loadExpected() {
  try {
    const res = await fetch(`/api/jobs/${job}/expected`);
    if (res.ok) { expected = await res.json(); fillExpected(); }
  } catch { /* as above */ }
}

// made are the checks that stand: only then does a place say what is expected,
// so that nobody reads what he was told to.
const made = () => new Set([...root.querySelectorAll(".findings > li:not(.struck)")].map((li) => li.dataset.check));

function fillExpected() {
  if (!expected || !place.open) return;
  const done = made();
  for (const form of body.querySelectorAll("form[data-check]")) {
    if (!done.has(form.dataset.check)) continue;
    for (const e of expected.filter((x) => x.check === form.dataset.check)) {
      const at = form.querySelector(e.reading ? `[data-expected="${e.reading}"]` : `[data-expected-word="${e.word}"]`);
      if (!at) continue;
      const lines = [e.healthy && `healthy: ${e.healthy.says}`, ...e.leading.map((l) => `${l.name}: ${l.says}`)].filter(Boolean);
      at.replaceChildren(...lines.map((text) => Object.assign(document.createElement("span"), { textContent: text })));
    }
  }
}

document.addEventListener("cap-over", refresh); // the drawing says it at the cap

// opener is what had the focus when a place was opened: the page puts fresh parts in
// meanwhile.
let placeName = "", opener = "";
async function show(name, { check, correct, finding, repair } = {}) {
  if (!place.open) opener = keyOf(document.activeElement);
  await loadPanels();
  placeName = name; answering = "";
  const panel = panels?.querySelector(`[data-panel="${name}"]`);
  if (!panel) return;
  document.getElementById("place-title").textContent = correct ? "Correct a finding" : panel.dataset.name;
  body.innerHTML = panel.innerHTML;
  if (correct) for (const f of body.querySelectorAll("form[data-check]")) if (f.dataset.check !== check) f.remove();
  if (finding) prefill(finding);
  if (repair) body.querySelector("[data-repair]").value = repair;
  wire(body, { job, seq, correct, seen: seq() }, entered);
  if (!place.open) place.showModal();
  const asked = check && body.querySelector(`form[data-check="${check}"]`);
  (asked?.querySelector("h3") || document.getElementById("place-title")).focus();
  asked?.scrollIntoView();
  sayRead(name);
  sayHistory(name);
  if (!expected) loadExpected(); else fillExpected();
}

// sayRead shows on top of a place what has been found there.
function sayRead(name) {
  const here = [...root.querySelectorAll(`.findings > li:not(.struck)[data-at="${name}"] .what`)].map((x) => x.textContent).filter(Boolean);
  if (!here.length) return;
  const p = document.createElement("p");
  p.className = "said"; p.textContent = "Found here: " + here.join(" · ");
  body.prepend(p);
}

// sayHistory puts what was entered at a place below what can be entered, with times and
// names; it moves nothing above it.
async function sayHistory(name) {
  if (name === "repairs") return;
  let text = "";
  try { const res = await fetch(`/jobs/${job}/places/${name}/history`); if (res.ok && !res.redirected) text = await res.text(); } catch { return; }
  if (name !== placeName || !place.open || answering) return;
  body.querySelector(".at-place")?.remove();
  body.append(...new DOMParser().parseFromString(text, "text/html").body.children);
}

function prefill(f) {
  for (const [id, text] of Object.entries(f.read || {})) {
    const input = body.querySelector(`[data-reading="${id}"]`);
    if (!input) continue;
    const [, number, unit] = text.match(/^\s*(-?[\d.,]+)\s*(.*)$/) || [];
    input.value = number ?? text;
    const select = input.closest(".reading").querySelector("[data-unit]");
    if (unit && select && [...select.options].some((o) => o.value === unit)) select.value = unit; else if (unit) input.value = text;
  }
  if (f.found) body.querySelector(`[data-word="${f.found}"]`)?.classList.add("chosen");
  if (f.note) body.querySelector("[data-note]").value = f.note;
}

// entered has the place answer: what was found, beside what a healthy engine
// would show there now and what the leading causes would. What could not be sent
// yet is answered later; the place closes.
async function entered(answer, f, later) {
  undoable(answer);
  refresh();
  if (answer?.ok && answer.id) { answerTo(answer.id, f.check); return; }
  place.close();
  if (later) alertLine(later);
}

let answering = "";
async function answerTo(finding, check) {
  answering = finding;
  document.getElementById("place-title").textContent = "Kept";
  const box = Object.assign(document.createElement("div"), { className: "answer-box" });
  box.setAttribute("role", "status");
  box.append(Object.assign(document.createElement("p"), { className: "working", textContent: "Asking the engines that still fit…" }));
  const bar = Object.assign(document.createElement("p"), { className: "row answer-bar" });
  const button = (text, cls, onclick) => { const b = Object.assign(document.createElement("button"), { type: "button", textContent: text, className: cls, onclick }); bar.append(b); return b; };
  const back = button("Back to the drawing", "main", () => place.close());
  button("Next step", "quiet on", () => { place.close(); scrollTo(0, 0); document.querySelector("#strip .go")?.focus(); });
  const at = placeName;
  if (at && at !== "repairs") {
    button("More here", "quiet", () => show(at));
    button("Correct it", "quiet", async () => { await refresh(); correct(root.querySelector(`[data-finding="${finding}"]`)); });
  }
  body.replaceChildren(box, bar);
  place.scrollTop = 0;
  back.focus();
  await fillAnswer();
}
async function fillAnswer() {
  const of = answering, box = body.querySelector(".answer-box");
  if (!of || !box || !place.open) return;
  let text = "";
  try { const res = await fetch(`/jobs/${job}/findings/${of}/answer`); if (res.ok && !res.redirected) text = await res.text(); } catch { setAway(true); }
  if (of !== answering || !box.isConnected) return;
  if (text) box.replaceChildren(...new DOMParser().parseFromString(text, "text/html").body.childNodes);
  else box.replaceChildren(Object.assign(document.createElement("p"), { textContent: "It is kept. The bench did not say what a healthy engine would show; open the finding later to see." }));
}
function alertLine(text) { document.getElementById("brought").textContent = text; }

root.addEventListener("click", (ev) => {
  const at = ev.target.closest("[data-place]");
  if (at) { ev.preventDefault(); show(at.dataset.place, { check: at.dataset.check, repair: at.dataset.repair }); return; }
  const li = ev.target.closest("[data-finding]");
  if (li && ev.target.closest("[data-correct]")) correct(li);
  if (li && ev.target.closest("[data-strike]")) { if (ev.target.closest("[data-undo]")) undo(li.dataset.finding); else strike(li); }
  if (ev.target.closest("[data-undo-note]")) undoNote(ev.target.closest("[data-note]").dataset.note);
  if (li && ev.target.closest("[data-restore]")) add({ method: "POST", url: `/api/jobs/${job}/findings/${li.dataset.finding}/restore`, seen: seq(), what: "take back in" }).then(refreshFreely);
  const told = ev.target.closest("[data-told]");
  if (told) add({ method: "POST", url: `/api/jobs/${job}/findings`, body: { [told.dataset.told]: told.dataset.sign }, seen: seq(), what: "The owner's answer", says: told.textContent }).then(undoable).then(refreshFreely);
  if (ev.target.closest("[data-close]")) place.close();
  const archive = ev.target.closest("#archive");
  if (archive) add({ method: "POST", url: `/api/jobs/${job}/${archive.dataset.do}`, what: archive.dataset.do }).then(() => location.assign("/"));
});

const correct = (li) => li && show(li.dataset.at, { check: li.dataset.check, correct: li.dataset.finding, finding: JSON.parse(li.dataset.body) });

place.addEventListener("close", () => {
  answering = ""; release();
  const at = document.activeElement, lost = !at || at === document.body || place.contains(at); // a hidden button loses it a little later
  if (lost && !refocus(opener)) refocus("the next step");
});

function strike(li) {
  const d = document.getElementById("strike");
  document.getElementById("strike-what").textContent = li.querySelector("b").textContent + ": " + li.querySelector(".what").textContent;
  document.getElementById("strike-why").value = "";
  d.onclose = () => {
    if (d.returnValue !== "strike") return;
    const why = encodeURIComponent(document.getElementById("strike-why").value);
    add({ method: "DELETE", url: `/api/jobs/${job}/findings/${li.dataset.finding}?why=${why}`, seen: seq(), what: "strike out" }).then(refreshFreely);
  };
  d.returnValue = "";
  d.showModal();
}

// --- The small forms -------------------------------------------------------

function small(id, make) {
  const form = document.getElementById(id);
  form.addEventListener("submit", async (ev) => {
    ev.preventDefault();
    clearFaults(form);
    const answer = await add(make(form));
    const told = form.querySelector(".told") || document.getElementById("brought");
    told.textContent = answer && !answer.ok ? showFaults(answer, (field) => form.elements[field]) : "";
    if (!answer || answer.ok) form.reset();
    undoable(answer);
    refreshFreely();
  });
}
small("note", (f) => ({ method: "POST", url: `/api/jobs/${job}/notes`, body: { text: f.elements.text.value }, what: "note" }));
small("cool", (f) => ({ method: "POST", url: `/api/jobs/${job}/cool`, body: { coolant: f.elements.coolant.value }, what: "wait for the cap" }));

// The line to type what was seen: what it may mean is offered, and entered by a tap.
document.getElementById("say").addEventListener("submit", async (ev) => {
  ev.preventDefault();
  const text = ev.target.elements.text.value.trim(), list = document.getElementById("offers");
  if (!text) return;
  let got;
  try {
    const res = await fetch(`/api/jobs/${job}/say?text=${encodeURIComponent(text)}`);
    got = await res.json();
    if (!res.ok) throw new Error(got.error.message);
  } catch (e) { list.replaceChildren(row("The bench does not answer. What you typed stays here.", "", null)); return; }
  const rows = got.offers.map((o) => o.finding ? row(o.says, "Enter", () => add({ method: "POST", url: `/api/jobs/${job}/findings${o.finding.read && !o.finding.found ? "?join=true" : ""}`, body: o.finding, seen: seq(), what: o.says })) : row(o.says, "Change the complaint", null, `/jobs/${job}/edit`));
  for (const r of got.remarks) rows.push(row(`Not understood: “${r}”`, "Keep as a note", () => add({ method: "POST", url: `/api/jobs/${job}/notes`, body: { text: r }, what: "note" })));
  list.replaceChildren(...rows);
  list.querySelector("button")?.focus();
});
function row(says, button, act, href) {
  const li = document.createElement("li"), span = Object.assign(document.createElement("span"), { textContent: says });
  li.append(span);
  if (href) li.append(Object.assign(document.createElement("a"), { className: "button quiet", href, textContent: button }));
  if (act) li.append(Object.assign(document.createElement("button"), { type: "button", textContent: button, onclick: async () => {
    const answer = await act();
    if (answer && !answer.ok && !answer.later) { span.textContent = answer.message; return; }
    undoable(answer);
    const next = li.nextElementSibling?.querySelector("button");
    li.remove();
    if (next) next.focus(); else { const input = document.getElementById("say-text"); input.value = ""; input.focus(); }
    refreshFreely();
  } }));
  return li;
}

async function brought(file) {
  alertLine(`Reading ${file.name}…`);
  let name;
  try { name = await bring(job, file); } catch (e) { alertLine(e.message); return; }
  await refreshFreely();
  if (/\.(jpe?g|png|webp)$/i.test(name)) { alertLine(`${name} is kept.`); return; }
  if (/\.(mp3|m4a|ogg|wav|webm)$/i.test(name)) { alertLine(`${name} is kept.`); return; }
  recognised(name);
}

// recognised says what a log probably is, with what is to be doubted and what only a
// person can settle, and offers to count it: one tap.
const logs = [["warm-up-log", "a warm-up from cold"], ["drive-log", "a drive, warm"]];
async function recognised(name) {
  const box = document.getElementById("brought");
  let log = { check: "", says: "", doubts: [], choices: [] };
  try { const res = await fetch(`/api/jobs/${job}/files/${encodeURIComponent(name)}/log`); if (res.ok) log = await res.json(); } catch { setAway(true); }
  const p = (text) => Object.assign(document.createElement("p"), { textContent: text });
  const count = (check, words, map) => {
    const b = Object.assign(document.createElement("button"), { type: "button", textContent: upper(words) });
    b.onclick = () => add({ method: "POST", url: `/api/jobs/${job}/findings`, body: { check, trace: name, ...(map ? { map } : {}) }, seen: seq(), what: words }).then(undoable).then((a) => { alertLine(a && !a.ok ? a.message : `${name} counts as ${words}.`); refreshFreely(); });
    return b;
  };
  const kinds = [...logs].sort((a) => (a[0] === log.check ? -1 : 1));
  box.replaceChildren(p(`${name}: ${log.says || "kept"}.`), ...log.doubts.map((d) => Object.assign(p("Please look: " + d), { className: "odd" })));
  if (!log.choices.length) {
    box.append(p(log.check ? `It looks like ${kinds[0][1]}. Count it as` : "What is it a log of?"));
    kinds.forEach(([check, words], i) => { const b = count(check, words); if (!i && log.check) b.className = "main"; box.append(b, " "); });
  }
  for (const c of log.choices) {
    box.append(p(c.what + " Until that is said it does not count."));
    for (const w of c.ways) for (const [check, words] of kinds.slice(0, log.check ? 1 : 2)) box.append(count(check, `${words}: ${w.says}`, w.map), " ");
  }
  box.scrollIntoView({ block: "nearest" });
}
const upper = (s) => s.charAt(0).toUpperCase() + s.slice(1);
document.querySelector("#bring input").addEventListener("change", (ev) => { if (ev.target.files[0]) brought(ev.target.files[0]).then(() => { ev.target.value = ""; }); });
addEventListener("dragover", (ev) => { ev.preventDefault(); document.body.classList.add("dropping"); });
addEventListener("dragleave", () => document.body.classList.remove("dropping"));
addEventListener("drop", (ev) => { ev.preventDefault(); document.body.classList.remove("dropping"); for (const f of ev.dataTransfer.files) brought(f); });

// --- What was not sent yet ---------------------------------------------------

// Each entry that waits stands in the list of what was found, from the first second.
const SOON = 700; // ms that an entry may take before it is called unsent: judgement
function unsent() {
  const list = document.getElementById("unsent");
  if (!list) return;
  const waits = pending(`/api/jobs/${job}/`).filter((e) => Date.now() - Date.parse(e.at) > SOON || !navigator.onLine);
  list.hidden = waits.length === 0;
  list.replaceChildren(...waits.map((e) => {
    const li = document.createElement("li");
    li.innerHTML = '<p><b></b></p><p class="when"></p>';
    li.querySelector(".when").textContent = ["on this device, not sent yet", why(e)].filter(Boolean).join(": ");
    const says = e.body ? [e.says, ...Object.values(e.body.read || {}), e.body.text].filter(Boolean).join(", ") : "";
    li.querySelector("b").textContent = (e.what || "An entry") + (says ? ": " + says : "");
    return li;
  }));
}
let looks = 0;
onChange(() => { unsent(); clearTimeout(looks); looks = setTimeout(unsent, SOON + 50); });
unsent();
listen();
