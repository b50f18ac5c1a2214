package trial

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"path"
	"slices"
	"sort"
	"strings"

	"weephole/cause"
	"weephole/internal/job"
	jobs "weephole/internal/work"
	"weephole/lineup"

	"github.com/goccy/go-yaml"
)

// Real is a real car whose cause became known: the job as it would have been
// typed before, and how it came out.
type Real struct {
	Name    string
	Job     *job.Job // findings only up to the one that shows the cause
	Outcome CaseOutcome
}

// CaseOutcome is the file NAME.outcome.yaml beside a job file NAME.yaml.
type CaseOutcome struct {
	// Cause are the causes that were there; the one that explains the complaint
	// first.
	Cause []string `yaml:"cause"`
	// AlsoRight are further answers that count as right.
	AlsoRight []string `yaml:"also-right"`
	// Confidence is "sure" (seen, or cured and it stayed so) or "likely".
	Confidence string `yaml:"confidence"`
	// ShownBy is the number, from 1, of the first finding of the job file that
	// shows the cause; only the findings before it are used. 0: none shows it.
	ShownBy int `yaml:"shown-by"`
	// ToldBefore is "yes" if something earlier tells the cause already: such a
	// case is left out of the fair score.
	ToldBefore string `yaml:"told-before"`
	// Weight is "core", or "minor" for a thin story or a weak proof.
	Weight string `yaml:"weight"`
	Source string `yaml:"source"` // where the case was told
	Note   string `yaml:"note"`
	// Readers is what careful readers held, by what they were given to read:
	// "fields" the job file alone, "story" all that was told. Probabilities by
	// cause.
	Readers map[string]map[string]float64 `yaml:"readers"`
}

// outcomeSuffix ends the names of the files with the truth.
const outcomeSuffix = ".outcome.yaml"

// ReadCases reads all cases of a folder: job files NAME.yaml with their
// NAME.outcome.yaml, by name. A file that is neither is refused. All mistakes
// come back at once.
func ReadCases(m *lineup.Model, dir fs.FS) ([]Real, error) {
	names, err := fs.Glob(dir, "*.yaml")
	if err != nil {
		return nil, err
	}
	sort.Strings(names)
	var list []Real
	var wrong []error
	words := jobs.Vocabulary(m)
	for _, name := range names {
		if base, ok := strings.CutSuffix(name, outcomeSuffix); ok {
			if !slices.Contains(names, base+".yaml") {
				wrong = append(wrong, fmt.Errorf("%s: the job file %s.yaml is missing", name, base))
			}
			continue
		}
		c, err := readCase(m.Causes, words, dir, strings.TrimSuffix(name, ".yaml"))
		if err != nil {
			wrong = append(wrong, err)
			continue
		}
		list = append(list, *c)
	}
	if len(wrong) > 0 {
		return nil, errors.Join(wrong...)
	}
	if len(list) == 0 {
		return nil, errors.New("no case found; a case is a job file NAME.yaml with the truth in NAME" + outcomeSuffix)
	}
	return list, nil
}

func readCase(cat *cause.Catalogue, words job.Vocabulary, dir fs.FS, name string) (*Real, error) {
	data, err := fs.ReadFile(dir, name+".yaml")
	if err != nil {
		return nil, err
	}
	j, err := job.Read(bytes.NewReader(data), name+".yaml", words)
	if err != nil {
		return nil, err
	}
	truth := name + outcomeSuffix
	if data, err = fs.ReadFile(dir, truth); err != nil {
		return nil, fmt.Errorf("%s: the truth is missing: %w", path.Base(truth), err)
	}
	c := &Real{Name: name, Job: j}
	if err := yaml.UnmarshalWithOptions(data, &c.Outcome, yaml.Strict()); err != nil {
		return nil, fmt.Errorf("%s: %w", truth, err)
	}
	if err := c.Outcome.check(cat, len(j.Findings)); err != nil {
		return nil, fmt.Errorf("%s: %w", truth, err)
	}
	if n := c.Outcome.ShownBy; n > 0 {
		j.Findings = j.Findings[:n-1]
	}
	// What was written down when the work was done is no evidence.
	j.Closing = job.Closing{}
	return c, nil
}

func (o *CaseOutcome) check(cat *cause.Catalogue, findings int) error {
	var wrong []error
	say := func(format string, args ...any) { wrong = append(wrong, fmt.Errorf(format, args...)) }
	if len(o.Cause) == 0 {
		say("cause: found none; write at least one, such as [thermostat-shut]")
	}
	known := func(key string, list []string) {
		for _, c := range list {
			if cat.Index(c) < 0 {
				say("%s: %q is not a cause; the causes are listed by weephole schema", key, c)
			}
		}
	}
	known("cause", o.Cause)
	known("also-right", o.AlsoRight)
	for who, odds := range o.Readers {
		for c, p := range odds {
			known("readers."+who, []string{c})
			if !(p >= 0 && p <= 1) {
				say("readers.%s.%s: found %g; write a probability from 0 to 1", who, c, p)
			}
		}
	}
	word := func(key, found string, of ...string) {
		if !slices.Contains(of, found) {
			say("%s: found %q; write one of: %s", key, found, strings.Join(of, ", "))
		}
	}
	word("confidence", o.Confidence, "sure", "likely")
	word("told-before", o.ToldBefore, "yes", "no")
	word("weight", o.Weight, "core", "minor")
	if o.ShownBy < 0 || o.ShownBy > findings+1 {
		say("shown-by: found %d; write the number of a finding, 1 to %d, or one more if the finding is not typed", o.ShownBy, findings)
	}
	return errors.Join(wrong...)
}

// fair tells whether nothing told the cause beforehand.
func (c *Real) fair() bool { return c.Outcome.ToldBefore != "yes" }
