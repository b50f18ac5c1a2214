// Who works by keys must not start at the top of the page again because the bench put
// something fresh in place of what had the focus.

// keyOf tells what has the focus from all else, in words that hold across a swap.
export function keyOf(x) {
  if (!x || x === document.body) return "";
  if (x.matches("#strip .go")) return "the next step";
  return [x.tagName, x.closest("[id]")?.id, x.name, x.value, x.getAttribute("href"), x.textContent.trim()].join("|");
}

// refocus finds it again; false where it is gone.
export function refocus(key, within = document) {
  if (!key) return true;
  const found = key === "the next step" ? document.querySelector("#strip .go")
    : [...within.querySelectorAll("a, button, summary, input, select, textarea, [tabindex]")].find((x) => keyOf(x) === key);
  found?.focus({ preventScroll: true });
  return document.activeElement === found;
}
