// The strip on top of every page of a job, kept in step with the bench. Its parts
// have heights of their own, so that nothing below moves when its words change.

import { count } from "./cap.js";
import { grow } from "./age.js";
import { keyOf, refocus } from "./focus.js";

const strip = document.getElementById("strip");

let fetching = false, again = false;
export async function refreshStrip(job) {
  if (fetching) { again = true; return; }
  fetching = true;
  try {
    do {
      again = false;
      const res = await fetch(`/jobs/${job}/strip?at=${strip.dataset.at}`);
      if (!res.ok || res.redirected) break;
      put(await res.text());
    } while (again);
  } catch { /* the page's own stream says when the bench is away */ } finally { fetching = false; }
}

function put(html) {
  if (html === strip.innerHTML) return;
  const widths = new Map([...strip.querySelectorAll("[data-of].fill")].map((f) => [f.dataset.of, f.getAttribute("width")]));
  const focus = strip.contains(document.activeElement) ? keyOf(document.activeElement) : "";
  const open = new Set([...strip.querySelectorAll("details[open]")].map((d) => d.id));
  strip.innerHTML = html;
  for (const d of strip.querySelectorAll("details")) if (open.has(d.id)) d.open = true;
  refocus(focus, strip);
  for (const f of strip.querySelectorAll("[data-of].fill")) {
    const now = f.getAttribute("width"), was = widths.get(f.dataset.of);
    if (!was || was === now) continue;
    f.style.width = was;
    requestAnimationFrame(() => requestAnimationFrame(() => { f.style.width = now; }));
  }
  count();
  grow();
  mini();
}

// mini repeats the verdict on top of an open place, where the strip is covered.
function mini() {
  const line = document.querySelector(".mini");
  if (!line) return;
  const first = strip.querySelector(".leads .first");
  line.textContent = first ? [first.querySelector(".cn").textContent, first.querySelector("b")?.textContent].filter(Boolean).join(" · ") : strip.querySelector(".says")?.textContent || "";
}
mini();
