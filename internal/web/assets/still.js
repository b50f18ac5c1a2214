// Parts of a page that change by themselves must not move what a finger is about
// to touch. A part whose lower edge can be seen keeps its height while it
// changes: what is too long for it can be scrolled to inside it. It takes its own
// height again when the edge is out of sight, or when whoever looks at the page
// has done something himself.

const held = new Set();

// Where columns stand side by side, scrolling on for one would move the others: a part
// above the screen keeps its height too.
const columns = matchMedia("(min-width: 48rem)");

// still makes a change to a part. free lets the part take its own height at once. It
// tells whether the page was scrolled for it: what changes next waits for the next
// frame then, for a scroll and a change in one frame are a jump to the browser.
export function still(part, change, free) {
  const before = part.getBoundingClientRect(), y = scrollY; // a page that becomes shorter may scroll by itself
  const inside = part.scrollTop;
  steady();
  unhold(part);
  change();
  const grown = part.getBoundingClientRect().height - before.height;
  if (free) return false;
  if (Math.abs(grown) >= 0.1) {
    if (before.bottom <= 0 && !columns.matches) { scrollOn(y + grown); return true; }
    if (before.bottom < innerHeight || grown < 0) hold(part, before.height, inside);
  }
  back(y);
  return false;
}

// frame waits until what was changed is painted; a page that is not seen is not.
const UNSEEN = 100; // ms
export const frame = () => new Promise((go) => { requestAnimationFrame(() => go()); setTimeout(go, UNSEEN); });

// back undoes what the browser scrolled because the page was shorter for a moment,
// as it is near its end.
function back(y) { if (Math.abs(scrollY - y) >= 1) scrollTo(0, y); }

function hold(part, height, inside) {
  held.add(part);
  part.style.minHeight = part.style.maxHeight = height + "px";
  part.classList.add("held");
  if (part.scrollHeight > part.clientHeight + 1) { part.tabIndex = 0; part.scrollTop = inside; }
}

function unhold(part) {
  if (!held.delete(part)) return;
  part.style.minHeight = part.style.maxHeight = "";
  part.classList.remove("held");
  part.removeAttribute("tabindex");
}

// scrollOn scrolls by whole pixels and carries the rest on, so that many small
// changes do not add up to a visible one.
let rest = 0;
function scrollOn(to) {
  const whole = Math.round(to + rest);
  rest += to - whole;
  scrollTo(0, whole);
}

// steady keeps the browser from scrolling by itself while heights change here.
let steadying = 0;
function steady() {
  const root = document.documentElement;
  root.classList.add("swapping");
  clearTimeout(steadying);
  steadying = setTimeout(() => root.classList.remove("swapping"), 200);
}

// release gives every part its own height again; somebody has just asked for it.
export function release() { for (const part of [...held]) unhold(part); }

// Out of sight a part may change its height; what is in sight stays where it is.
function outOfSight() {
  for (const part of [...held]) {
    const before = part.getBoundingClientRect(), y = scrollY;
    if (before.bottom < innerHeight && (before.bottom > 0 || columns.matches)) continue;
    steady();
    unhold(part);
    if (before.bottom <= 0) scrollOn(y + part.getBoundingClientRect().height - before.height);
    else if (scrollY < y - 1) { hold(part, before.height, part.scrollTop); back(y); } // without it the page would end too early
  }
}
let soon = 0;
addEventListener("scroll", () => { cancelAnimationFrame(soon); soon = requestAnimationFrame(outOfSight); }, { passive: true });
