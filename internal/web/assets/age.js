// How old an answer is, kept true while the page stays open. The bench says the age that
// it had when the page was made; the seconds since are counted here, because the clock
// of a device may be wrong. A device that slept has counted too few: then its clock's
// step counts. Nothing here is a live region, so that nobody hears each minute called out.

const MINUTE = 60, HOUR = 60 * MINUTE, DAY = 24 * HOUR;
const LOOK = 5000; // ms between two looks: no word is wrong for longer

export function ago(seconds) {
  if (seconds < MINUTE) return "under 1 min ago";
  if (seconds < HOUR) return `${Math.floor(seconds / MINUTE)} min ago`;
  if (seconds < DAY) return `${Math.floor(seconds / HOUR)} h ago`;
  return seconds < 2 * DAY ? "1 day ago" : `${Math.floor(seconds / DAY)} days ago`;
}

const since = new WeakMap(); // when each came in, by both clocks
export function grow() {
  const ran = performance.now(), clock = Date.now();
  for (const at of document.querySelectorAll("[data-age]")) {
    if (!since.has(at)) since.set(at, [ran, clock]);
    const [ran0, clock0] = since.get(at);
    const says = ago(Number(at.dataset.age) + Math.max(ran - ran0, clock - clock0) / 1000);
    if (at.textContent !== says) at.textContent = says;
  }
}

setInterval(grow, LOOK);
document.addEventListener("visibilitychange", grow); // a phone that was in a pocket is right at once
addEventListener("pageshow", grow);
grow();
