// The list of jobs: keeps the list in step, and takes in exported jobs.

import "./queue.js";

const list = document.getElementById("joblist");
if (list.dataset.live === "yes") {
  let soon = 0;
  const refresh = async () => {
    try {
      const res = await fetch("/jobs-list");
      if (res.ok && !res.redirected) list.innerHTML = await res.text();
    } catch { /* the stream says when the bench is back */ }
  };
  const source = new EventSource("/api/events");
  for (const name of ["hello", "entry", "answer"]) source.addEventListener(name, () => { clearTimeout(soon); soon = setTimeout(refresh, 300); });
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
