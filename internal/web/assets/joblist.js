// The list of jobs: keeps the list in step, and takes in exported jobs.

import "./queue.js";
import { grow } from "./age.js";
import { stream } from "./stream.js";

const list = document.getElementById("joblist");

// Whoever has just touched the list finds every job where it was: the order waits
// until nothing was done for a while, and new jobs come last until then.
const CALM = 10000; // ms, judgement
let touched = -CALM;
for (const name of ["pointermove", "pointerdown", "keydown", "scroll"]) addEventListener(name, () => { touched = performance.now(); }, { passive: true, capture: true });

function put(html) {
  const fresh = new DOMParser().parseFromString(html, "text/html").body, now = list.querySelector("ul"), ul = fresh.querySelector("ul");
  const href = (li) => li.querySelector("a").getAttribute("href");
  const focus = list.contains(document.activeElement) ? document.activeElement.getAttribute("href") : null;
  if (now && ul && performance.now() - touched < CALM) {
    const there = new Map([...ul.children].map((li) => [href(li), li]));
    const order = [...now.children].map(href).filter((h) => there.has(h));
    for (const h of [...order, ...[...there.keys()].filter((h) => !order.includes(h))]) ul.append(there.get(h));
  }
  list.replaceChildren(...fresh.childNodes);
  grow();
  if (focus) list.querySelector(`[href="${CSS.escape(focus)}"]`)?.focus({ preventScroll: true });
}

if (list.dataset.live === "yes") {
  let soon = 0;
  const refresh = async () => {
    try {
      const res = await fetch("/jobs-list");
      if (res.ok && !res.redirected) put(await res.text());
    } catch { /* the stream says when the bench is back */ }
  };
  const look = () => { clearTimeout(soon); soon = setTimeout(refresh, 300); };
  stream("/api/events", { hello: look, entry: look, answer: look });
}

document.getElementById("import").addEventListener("change", async (ev) => {
  const said = document.getElementById("imported"), file = ev.target.files[0];
  if (!file) return;
  try {
    const res = await fetch("/api/import", { method: "POST", body: file, headers: { "Content-Type": "application/zip" } });
    const answer = await res.json();
    if (!res.ok) throw new Error(answer.error.message);
    location.assign("/jobs/" + answer.id);
  } catch (e) { said.textContent = e.message; }
});
