package job

import (
	"fmt"
	"slices"
	"strings"
)

// checkRules looks at what single values cannot show: which words belong to
// which check, and statements that cannot both be true. What is merely odd is
// no problem here: two findings that pull different ways are evidence, and the
// odds say how badly they fit together.
func checkRules(r *reader, j *Job) {
	for i := range j.Findings {
		checkFinding(r, j, indexed("findings", i), &j.Findings[i])
	}
	checkComplaint(r, j)
	checkTwice(r, j)
	if on, off := j.Vehicle.Fan.On, j.Vehicle.Fan.Off; on.Known() && off.Known() && off.Value >= on.Value {
		r.at(j, "vehicle.fan.off", "the fan would stop at %s but start at %s; it starts at the higher one", off.Text, on.Text)
	}
	for i, tool := range j.Shop.Lacks {
		if slices.Contains(j.Shop.Tools, tool) {
			r.at(j, indexed("shop.lacks", i), "%q stands among the tools at hand too; keep it in one list", tool)
		}
	}
}

// at reports a problem at a value's own place.
func (r *reader) at(j *Job, path, format string, args ...any) *Problem {
	return r.problem(j.Where(path), path, format, args...)
}

func checkFinding(r *reader, j *Job, path string, f *Finding) {
	switch {
	case f.Remark() && f.Note == "":
		if !r.complained(path) {
			r.at(j, path, "names neither a check nor a repair; begin it with check:, repair: or sign:, or write a remark as note:")
		}
	case f.Remark():
		if f.Found != "" || len(f.Codes) > 0 || len(f.Read) > 0 || f.Trace != "" || f.Changed != "" {
			r.at(j, path, "a remark says only note:; begin it with check: or repair: for the rest to count")
		}
	case f.Check != "" && f.Repair != "":
		r.at(j, path, "names a check and a repair; make two findings of it, in the order made")
	case f.names() > 1:
		r.at(j, path, "names several things; make a finding of each, in the order made")
	case f.Sign != "" || f.Denied != "" || f.NotKnown != "":
		if f.Found != "" || len(f.Codes) > 0 || len(f.Read) > 0 || f.Trace != "" || f.Changed != "" {
			r.at(j, path, "a sign is so or is not so; write what a check showed as a finding of its own")
		}
	case f.Repair != "":
		for _, wrong := range []struct {
			key string
			has bool
		}{{"found", f.Found != ""}, {"codes", len(f.Codes) > 0}, {"read", len(f.Read) > 0}} {
			if wrong.has {
				r.at(j, joined(path, wrong.key), "a repair has no %q; say what it changed with changed:, and write what was measured after it as a check of its own", wrong.key)
			}
		}
	default:
		if f.Part != "" {
			r.at(j, joined(path, "part"), "a check puts no part in; write it with the repair")
		}
		if f.Changed != "" {
			r.at(j, joined(path, "changed"), "a check changes nothing; write what it showed with found:, read: or trace:")
		}
		if f.BackAfter != "" || len(f.Of) > 0 || f.Again != "" {
			r.at(j, path, "of:, back-after: and again: belong to a repair")
		}
		if f.Found == "" && len(f.Codes) == 0 && len(f.Read) == 0 && f.Trace == "" && !r.complained(path) {
			r.at(j, path, "says nothing that the check showed; add found:, read: or trace:, or found: unknown")
		}
		checkWords(r, j, path, f)
	}
	if f.Trace == "" && (f.Drive != 0 || len(f.Map) > 0) {
		r.at(j, path, "drive: and map: belong to a log; add trace: with its file name")
	}
}

// complained tells whether something within path was already reported, so that
// one slip is told once.
func (r *reader) complained(path string) bool {
	return slices.ContainsFunc(r.problems, func(p *Problem) bool { return strings.HasPrefix(p.Path, path) })
}

// checkWords holds a finding against the words and readings of its check.
func checkWords(r *reader, j *Job, path string, f *Finding) {
	c := r.words.check(f.Check)
	if c != nil && len(f.Codes) > 0 {
		if len(c.Codes) == 0 {
			r.at(j, joined(path, "codes"), "%s shows no trouble codes; write them with check: trouble-codes", c.ID)
		} else if f.Found == "" {
			f.Found = c.codesWord(f.Codes)
		}
	}
	if c != nil && f.Found != "" {
		here := joined(path, "found")
		if len(c.Words) == 0 && f.Found != Unknown {
			r.at(j, here, "%s has no words; write its reading with read: (%s)", c.ID, listed(c.readingIDs()))
		} else {
			r.known(j.Where(here), here, f.Found, foundWhat(c.ID), c.Words)
		}
	}
	for k := range f.Read {
		x, here := &f.Read[k], joined(path, "read."+f.Read[k].ID)
		what, low, high := "", 0.0, 0.0
		if c != nil {
			known := c.reading(x.ID)
			if known == nil {
				r.unknownReading(j.Where(here), here, c, x.ID)
				continue
			}
			what, low, high = known.What, known.Low, known.High
		} else if len(r.words.Checks) > 0 {
			continue // the unknown check was reported
		} else if !isID(x.ID) {
			r.known(j.Where(here), here, x.ID, "the name of a reading", nil)
			continue
		}
		if !x.Known() {
			continue
		}
		bound, number := splitBound(x.Text)
		x.Bound = bound
		v, err := parseReading(what, number)
		if err != nil {
			r.at(j, here, "%v", err)
			continue
		}
		x.Value = v
		if k := kindNamed(what); k != nil && low < high && (v < low || v > high) {
			r.at(j, here, "%q is not possible here; expected %s to %s, or \"unknown\"", shorten(x.Text), k.show(j.Shop.Speaks(), low), k.show(j.Shop.Speaks(), high))
		}
	}
	checkOrder(r, j, path, f)
}

func (r *reader) unknownReading(at Position, path string, c *CheckWords, id string) {
	ids := c.readingIDs()
	if len(ids) == 0 {
		r.problem(at, path, "%s has no readings; write what it showed with found: (%s)", c.ID, listed(c.Words))
		return
	}
	r.nearest(r.problem(at, path, "%q is not a reading of %s", shorten(id), c.ID), "a reading of "+c.ID, id, ids)
}

// colder are pairs of readings of one check where the second cannot be hotter than the
// first by more than `most` kelvin. That is judgement: coolant that runs backwards or
// hoses read the wrong way round give some tens. Even boiling against a winter day hardly
// gives 60 in that direction.
var colder = []struct {
	hot, cold string
	most      float64
}{
	{"upper-hose", "lower-hose", 50},
}

func checkOrder(r *reader, j *Job, path string, f *Finding) {
	find := func(id string) *Reading {
		if i := slices.IndexFunc(f.Read, func(x Reading) bool { return x.ID == id && x.Known() }); i >= 0 {
			return &f.Read[i]
		}
		return nil
	}
	for _, pair := range colder {
		hot, cold := find(pair.hot), find(pair.cold)
		if hot == nil || cold == nil || cold.Value-hot.Value <= pair.most {
			continue
		}
		r.at(j, joined(path, "read."+pair.cold), "%s at %s is %.0f K hotter than %s at %s, which cannot be; look whether the two were swapped or one is in the other unit",
			pair.cold, cold.Text, cold.Value-hot.Value, pair.hot, hot.Text)
	}
}

func checkComplaint(r *reader, j *Job) {
	c := &j.Complaint
	for i, w := range c.Fine {
		switch here := indexed("complaint.fine", i); {
		case w == Unknown:
		case slices.Contains(c.When, w):
			r.at(j, here, "%q stands under when: too; it cannot both happen and not happen there", w)
		case w == "always", slices.Contains(c.When, "always"):
			r.at(j, here, "%q cannot be fine where it always happens, or always fine where it happens; keep when: or fine:", w)
		}
	}
	for i, w := range c.Denied {
		if w != Unknown && slices.Contains(c.Signs, w) {
			r.at(j, indexed("complaint.denied", i), "%q stands under signs: too; it cannot both be so and not be so", w)
		}
	}
	for i := range j.Recent {
		if len(j.Recent) > 1 && j.Recent[i].What == "none" {
			r.at(j, indexed("recent-work", i), "no work, and work beside it; leave this line out")
		}
	}
	o := c.Overheated
	if o.Times.Known() && o.Times.Value == 0 && o.Badly == "yes" {
		r.at(j, "complaint.overheated.badly", "badly, but no time; write how many times, or unknown")
	}
}

// checkTwice reports a word that stands twice in its list.
func checkTwice(r *reader, j *Job) {
	lists := []struct {
		path  string
		words []string
	}{
		{"shop.tools", j.Shop.Tools}, {"shop.lacks", j.Shop.Lacks},
		{"complaint.signs", j.Complaint.Signs}, {"complaint.denied", j.Complaint.Denied}, {"complaint.when", j.Complaint.When}, {"complaint.fine", j.Complaint.Fine},
	}
	if j.Quote != nil {
		lists = append(lists, struct {
			path  string
			words []string
		}{"quote.evidence", j.Quote.Evidence})
	}
	for _, l := range lists {
		for i, w := range l.words {
			if slices.Contains(l.words[:i], w) {
				r.at(j, fmt.Sprintf("%s[%d]", l.path, i), "%q stands twice; once is enough", w)
			}
		}
	}
}
