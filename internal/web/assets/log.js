// A log's page: the reading at a moment, told in words.

const form = document.querySelector(".read-off"), out = form.querySelector("output"), input = form.querySelector("input");
const points = form.dataset.points.split(";").filter(Boolean).map((p) => { const [m, c] = p.split(","); return [Number(m), c]; });
const from = Number(form.dataset.from), to = Number(form.dataset.to);

function tell() {
  const at = from + (to - from) * input.value / input.max;
  let best = points[0];
  for (const p of points) if (Math.abs(p[0] - at) < Math.abs(best[0] - at)) best = p;
  if (best) out.textContent = `at ${best[0].toFixed(1)} min: ${best[1]}`;
}
input.addEventListener("input", tell);
form.addEventListener("submit", (ev) => ev.preventDefault());
tell();
