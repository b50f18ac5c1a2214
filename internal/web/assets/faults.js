// What is wrong with an entry stands at its field, as the bench says it: the field is
// named wrong, its part of the form is open, and what was typed stays.

let made = 0;

export function clearFaults(form) {
  form.querySelectorAll(".fault").forEach((x) => x.remove());
  for (const x of form.querySelectorAll("[aria-invalid]")) { x.removeAttribute("aria-invalid"); x.removeAttribute("aria-describedby"); }
}

// fault says at a field what is wrong with it.
export function fault(input, says) {
  const line = Object.assign(document.createElement("span"), { className: "problem fault", id: `fault-${++made}`, textContent: says });
  (input.closest(".reading") || input.closest("label") || input.parentElement).append(line);
  input.setAttribute("aria-invalid", "true");
  input.setAttribute("aria-describedby", line.id);
  input.addEventListener("input", () => { line.remove(); input.removeAttribute("aria-invalid"); input.removeAttribute("aria-describedby"); }, { once: true });
  for (let d = input.closest("details"); d; d = d.parentElement.closest("details")) { d.open = true; d.dataset.touched = "yes"; }
}

// showFaults puts what the bench says of an entry at the fields that find knows, leads to
// the first of them, and gives what belongs to none.
export function showFaults(answer, find) {
  const rest = [];
  let first = null;
  for (const f of answer.faults || []) {
    const input = find(f.field);
    if (!input) { rest.push(f.says); continue; }
    fault(input, f.says);
    first ??= input;
  }
  first?.focus();
  return first ? rest.join(" ") : answer.message;
}
