// Undo, for ten seconds: an entry's own row has a button that takes it back without a
// question. What was put into a finding that stood before, a correction or a further
// reading, is taken out again; afterwards a finding can still be changed or struck out.

const UNDO = 10000; // ms

// undoes watches over the newest entry of a page: root holds its rows, send sends an entry
// and puts fresh rows in, say tells what has no place of its own.
export function undoes(root, job, send, say) {
  let fresh = null;

  function undoable(answer) {
    if (!answer?.ok || !answer.id) return answer;
    const stood = root.querySelector(`[data-finding="${answer.id}"]`);
    fresh = { id: answer.id, seq: answer.seq, until: performance.now() + UNDO, was: stood ? JSON.parse(stood.dataset.body) : null };
    return answer;
  }

  function offerUndo() {
    const left = fresh ? fresh.until - performance.now() : 0;
    for (const b of root.querySelectorAll("[data-undo]")) if (left <= 0 || b.closest("[data-finding]").dataset.finding !== fresh.id) { b.firstChild.textContent = "Strike"; delete b.dataset.undo; }
    for (const b of root.querySelectorAll("[data-undo-note]")) if (left <= 0 || b.dataset.undoNote !== fresh.id) b.remove();
    if (left <= 0) return;
    const note = root.querySelector(`[data-note="${fresh.id}"]:not(.struck)`);
    if (note && !note.querySelector("button")) {
      const b = Object.assign(document.createElement("button"), { type: "button", className: "quiet", textContent: "Undo" });
      b.dataset.undoNote = fresh.id;
      note.append(b);
    }
    const li = root.querySelector(`[data-finding="${fresh.id}"]`), b = li?.querySelector("[data-strike]");
    if (b && (fresh.was || li.dataset.times === "1")) { b.firstChild.textContent = "Undo"; b.dataset.undo = "yes"; } // what somebody else joined it to is not taken away
    if (note || b) setTimeout(offerUndo, left + 20);
  }

  // A correction is undone over itself alone: what somebody else said since stands.
  function undo(id) {
    if (fresh?.id !== id) return;
    const { was, seq } = fresh, url = `/api/jobs/${job}/findings/${id}`;
    fresh = null;
    send(was ? { method: "PUT", url, body: was, seen: seq, what: "undo" } : { method: "DELETE", url: `${url}?why=${encodeURIComponent("undone at once")}`, seen: seq, what: "undo" });
  }

  function undoNote(id) {
    fresh = null;
    send({ method: "DELETE", url: `/api/jobs/${job}/notes/${id}`, what: "undo" });
  }

  // told says why something could not be done that has no field of its own.
  function told(answer) { if (answer && !answer.ok) say(answer.message); return answer; }

  return { undoable, offerUndo, undo, undoNote, told };
}
