package work

import (
	"weephole/cause"
	"weephole/lineup"
	"weephole/proof"
	"weephole/trace"
)

// History is a job's case split at its last repairs.
type History struct {
	Before   lineup.Case
	BeforeOf []int    // which finding of the job each of its events is
	Repairs  []string // ids, in the order done; none when nothing was repaired yet
	RepairOf []int    // which finding of the job each is
	Evidence []proof.Evidence
	// EvidenceOf tells which finding of the job each piece of evidence is.
	EvidenceOf []int
}

// split splits the case of a job at the last repairs in a row.
func split(w *Work) History {
	events := w.Case.Events
	out := History{Before: w.Case, BeforeOf: w.FindingOf}
	last := -1
	for i := range events {
		if events[i].Repair != "" {
			last = i
		}
	}
	if last < 0 || failed(&events[last]) {
		return out
	}
	first := last
	for first > 0 && events[first-1].Repair != "" && !failed(&events[first-1]) {
		first--
	}
	out.Before.Events, out.BeforeOf = events[:first:first], w.FindingOf[:first:first]
	for i := first; i <= last; i++ {
		out.Repairs = append(out.Repairs, events[i].Repair)
		out.RepairOf = append(out.RepairOf, w.FindingOf[i])
	}
	for i := last + 1; i < len(events); i++ {
		ev := &events[i]
		e := proof.Evidence{Label: ev.Label, Check: ev.Check, Word: ev.Word, Readings: ev.Readings, Conditions: ev.Conditions}
		if ev.Word != "" || len(ev.Readings) > 0 {
			out.add(e, w.FindingOf[i])
		}
		if ev.Log != nil {
			e = proof.Evidence{Label: ev.Label, Log: ev.Log, Conditions: ev.Conditions}
			e.AirCon = w.Job.Findings[w.FindingOf[i]].AirCon == "yes"
			out.add(e, w.FindingOf[i])
		}
	}
	if changed := events[last]; !changed.Unknown {
		out.add(proof.Evidence{Changed: &changed.Changed}, w.FindingOf[last])
	}
	return out
}

// LogBefore is the last log from before the repair that goes with the first one
// after it: of the same check if there is one, else any; nil where there is none.
func (w *Work) LogBefore() *trace.Trace {
	after := ""
	for _, ev := range w.Case.Events[len(w.Before.Events):] {
		if ev.Log != nil {
			after = ev.Check
			break
		}
	}
	var any, same *trace.Trace
	for i := range w.Before.Events {
		if t := w.Traces[i]; t != nil {
			any = t
			if w.Before.Events[i].Check == after {
				same = t
			}
		}
	}
	if same != nil {
		return same
	}
	return any
}

// failed tells of a repair that is known to have changed nothing: no proof is
// wanted of it, it is evidence like any other.
func failed(ev *lineup.Event) bool {
	return !ev.Unknown && (ev.Changed.Failed() || ev.Changed == cause.Worse)
}

func (h *History) add(e proof.Evidence, finding int) {
	h.Evidence = append(h.Evidence, e)
	h.EvidenceOf = append(h.EvidenceOf, finding)
}
