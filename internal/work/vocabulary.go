package work

import (
	"weephole/cause"
	"weephole/check"
	"weephole/internal/job"
	"weephole/lineup"
)

// Vocabulary is the words that a job file may use, from the catalogues.
func Vocabulary(m *lineup.Model) job.Vocabulary {
	v := job.DefaultVocabulary()
	v.Checks, v.Signs, v.When = nil, nil, nil
	for i := range m.Checks.Checks {
		c := &m.Checks.Checks[i]
		w := job.CheckWords{ID: c.ID}
		for _, word := range c.Words {
			w.Words = append(w.Words, word.Is)
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
	for _, t := range m.Causes.Tools {
		v.Tools = append(v.Tools, t.ID)
	}
	v.Engine = check.States()
	v.Work = append(cause.WorkWords(), "none")
	v.Changed = cause.ChangeWords()
	return v
}
