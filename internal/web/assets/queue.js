// Entries that wait for the network. An entry is written down on the device
// before it is sent, and crossed out only when the server has answered that it
// is kept; sent twice it is kept once, because it carries its own id.

const KEY = "weephole-queue";
const REFUSED = "weephole-refused";
const AGAIN = 2000; // ms between tries while the network is away; judgement
const LONGEST = 15000; // ms to wait for an answer before trying again; judgement

const read = (key) => { try { return JSON.parse(localStorage.getItem(key)) || []; } catch { return []; } };
const write = (key, list) => localStorage.setItem(key, JSON.stringify(list));

// id is a UUID; crypto.randomUUID needs a secure context, which a shop's
// network is not.
export function id() {
  const b = crypto.getRandomValues(new Uint8Array(16));
  b[6] = (b[6] & 0x0f) | 0x40; b[8] = (b[8] & 0x3f) | 0x80;
  const h = [...b].map((x) => x.toString(16).padStart(2, "0")).join("");
  return `${h.slice(0, 8)}-${h.slice(8, 12)}-${h.slice(12, 16)}-${h.slice(16, 20)}-${h.slice(20)}`;
}

// pending are the entries that were not sent yet and are about an address.
export const pending = (about) => read(KEY).filter((e) => e.url.startsWith(about));

const listeners = new Set();
export const onChange = (f) => listeners.add(f);
const changed = () => { tell(); listeners.forEach((f) => f()); };

// tell says what waits, in words, at the top of the page.
let away = false;
export function setAway(value) { if (away !== value) { away = value; tell(); } }
function tell() {
  const wire = document.getElementById("wire");
  const n = read(KEY).length, bad = read(REFUSED);
  const lines = [];
  if (n > 0) lines.push(`${n} ${n === 1 ? "entry waits" : "entries wait"} on this device. ${n === 1 ? "It" : "They"} will be sent when the bench answers.`);
  else if (away) lines.push("The bench does not answer. What you enter is kept on this device and sent later.");
  wire.textContent = lines.join(" ");
  for (const e of read(KEY)) {
    const because = why(e);
    if (because) wire.append(Object.assign(document.createElement("p"), { textContent: `${named(e)} waits: ${because}` }));
  }
  for (const b of bad) {
    const p = document.createElement("p");
    p.textContent = `Not kept: ${b.what}. ${b.message} `;
    const button = document.createElement("button");
    button.type = "button"; button.textContent = "I have seen it";
    button.onclick = () => { write(REFUSED, read(REFUSED).filter((x) => x.id !== b.id)); changed(); };
    p.append(button);
    wire.append(p);
  }
}

// add writes an entry down and tries to send it. It resolves to the server's
// answer, or to null when the entry has to wait.
const waiting = new Map();
export function add(entry) {
  const e = { id: id(), at: new Date().toISOString(), ...entry };
  try { write(KEY, [...read(KEY), e]); } catch { return Promise.resolve({ ok: false, message: "This device has no room left to keep the entry. Send what waits first." }); }
  changed();
  const answer = new Promise((resolve) => waiting.set(e.id, resolve));
  flush();
  return Promise.race([answer, new Promise((resolve) => setTimeout(() => resolve(null), 4000))]);
}

// flush sends what waits, in order. Each entry stands alone: one that the bench
// fails to keep waits with what the bench said of it, and the others go on; only
// entries about the same wait behind it: the same finding, or the same part of a job.
const held = new Map(); // what the bench said of entries that it failed to keep
const subject = (e) => /\/findings\/[^/?]+/.exec(e.url)?.[0] ?? (e.method === "PATCH" ? e.url : e.id);
const waitsFor = (e, before) => e !== before && (e.url.includes(before.id) || subject(e) === subject(before));
const named = (e) => e.what ? e.what[0].toUpperCase() + e.what.slice(1) : "An entry";

// why is what keeps an entry from being sent, "" where nothing is known to.
export function why(e) {
  if (held.has(e.id)) return held.get(e.id);
  const list = read(KEY), at = list.findIndex((x) => x.id === e.id);
  const first = list.slice(0, at).find((x) => held.has(x.id) && waitsFor(e, x));
  return first ? `“${named(first)}” comes first, because both are about the same.` : "";
}
let flushing = false, timer = 0;
export async function flush() {
  if (flushing) return;
  flushing = true;
  clearTimeout(timer);
  const behind = [];
  try {
    for (let e = next(behind); e; e = next(behind)) {
      if (!(await send(e))) behind.push(e);
    }
    setAway(false);
  } catch { setAway(true); }
  if (read(KEY).length) timer = setTimeout(flush, AGAIN);
  flushing = false;
  changed();
}

const next = (behind) => read(KEY).find((e) => !behind.some((before) => e.id === before.id || waitsFor(e, before)));

// send sends one entry and tells whether the bench has decided on it. It throws
// when the bench cannot be reached.
async function send(e) {
  const res = await fetch(e.url, {
    method: e.method, body: e.body === undefined ? undefined : JSON.stringify(e.body), signal: AbortSignal.timeout(LONGEST),
    headers: { "Content-Type": "application/json", "Idempotency-Key": e.id, "Weephole-Entered": e.at, ...(e.seen ? { "Weephole-Seen": String(e.seen) } : {}) },
  });
  if (res.status === 401) { location.href = "/login?to=" + encodeURIComponent(location.pathname); throw new Error("passphrase"); }
  const answer = await res.json().catch(() => null);
  const w = waiting.get(e.id);
  if (!answer || res.status >= 500 || res.status === 429) {
    const message = answer?.error?.message || "The bench failed to keep it.";
    held.set(e.id, message);
    if (w) { w({ ok: false, later: true, message }); waiting.delete(e.id); }
    return false;
  }
  held.delete(e.id);
  write(KEY, read(KEY).filter((x) => x.id !== e.id));
  const told = res.ok ? { ok: true, ...answer } : { ok: false, message: answer.error.message, seq: answer.error.seq, faults: answer.error.faults };
  waiting.delete(e.id);
  if (w) w(told);
  else if (!res.ok) write(REFUSED, [...read(REFUSED), { id: e.id, what: e.what || e.url, message: told.message }]);
  changed();
  return true;
}

addEventListener("online", flush);
addEventListener("storage", (e) => { if (e.key === KEY) changed(); });
flush();
