package work

import (
	"sync"

	"weephole/cause"
	"weephole/check"
	"weephole/internal/job"
	"weephole/internal/say"
	"weephole/lineup"
)

// Vocabulary is the words that a job file may use, from the catalogues.
func Vocabulary(m *lineup.Model) job.Vocabulary {
	v := job.DefaultVocabulary()
	v.Checks, v.Signs, v.When, v.Whose = nil, nil, nil, nil
	v.Says = meanings(m)
	v.Near = near(m)
	for i := range m.Checks.Checks {
		c := &m.Checks.Checks[i]
		w := job.CheckWords{ID: c.ID}
		for _, word := range c.Words {
			w.Words = append(w.Words, word.Is)
			for _, code := range word.Codes {
				if w.Codes == nil {
					w.Codes = map[string]string{}
				}
				w.Codes[code] = word.Is
			}
		}
		for k := range c.Readings {
			r := &c.Readings[k]
			low, high := r.PlausibleSI()
			w.Readings = append(w.Readings, job.ReadingWords{ID: r.ID, What: r.What, Low: low, High: high})
		}
		v.Checks = append(v.Checks, w)
	}
	for i := range m.Checks.Signs {
		v.Signs = append(v.Signs, m.Checks.Signs[i].ID)
	}
	for i := range m.Checks.Conditions {
		v.When = append(v.When, m.Checks.Conditions[i].ID)
	}
	for i := range m.Causes.Causes {
		v.Causes = append(v.Causes, m.Causes.Causes[i].ID)
	}
	for i := range m.Causes.Repairs {
		v.Repairs = append(v.Repairs, m.Causes.Repairs[i].ID)
	}
	v.Tried = m.Causes.Attempts()
	for _, t := range m.Causes.Tools {
		v.Tools = append(v.Tools, t.ID)
	}
	for i := range m.Checks.Whose {
		v.Whose = append(v.Whose, m.Checks.Whose[i].ID)
	}
	v.Engine = check.States()
	v.Work = append(cause.WorkWords(), "none")
	v.Changed = cause.ChangeWords()
	return v
}

// near finds what a wrong word means. The phrases are read when the first wrong
// word comes.
func near(m *lineup.Model) func(kind, word string, among []string) string {
	phrases := sync.OnceValues(func() (*say.Lexicon, error) { return say.New(m.Checks) })
	return func(kind, word string, among []string) string {
		x, err := phrases()
		if err != nil { // the built-in file is tested; a message without a hint is no harm
			return ""
		}
		return x.Near(kind, word, among)
	}
}

// meanings are what the words of the catalogues mean.
func meanings(m *lineup.Model) map[string]string {
	says := map[string]string{}
	put := func(kind, word, means string) { says[job.KeyOf(kind, word)] = means }
	for i := range m.Checks.Checks {
		c := &m.Checks.Checks[i]
		put("a check", c.ID, c.Name)
		for _, w := range c.Words {
			put(say.FindingOf(c.ID), w.Is, w.Says)
		}
		for k := range c.Readings {
			put("a reading of "+c.ID, c.Readings[k].ID, c.Readings[k].Name)
		}
	}
	for i := range m.Checks.Signs {
		put("a sign", m.Checks.Signs[i].ID, m.Checks.Signs[i].Name)
	}
	for i := range m.Checks.Conditions {
		put("a condition", m.Checks.Conditions[i].ID, m.Checks.Conditions[i].Name)
	}
	for i := range m.Checks.Whose {
		put("here, owner, other-shop or seller", m.Checks.Whose[i].ID, m.Checks.Whose[i].Name)
	}
	for i := range m.Causes.Causes {
		put("a cause", m.Causes.Causes[i].ID, m.Causes.Causes[i].Name)
	}
	for i := range m.Causes.Repairs {
		put("a repair", m.Causes.Repairs[i].ID, m.Causes.Repairs[i].Name)
	}
	for _, id := range m.Causes.Attempts() {
		put("a repair", id, m.Causes.Repair(id).Name)
	}
	for _, t := range m.Causes.Tools {
		put("a tool", t.ID, t.Name)
	}
	for _, w := range append(cause.WorkWords(), "none") {
		put("a kind of work", w, cause.WorkSays(w))
	}
	return says
}
