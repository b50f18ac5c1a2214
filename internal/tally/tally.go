package tally

import (
	"bufio"
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
)

// Entry is one closed job, or the undoing of one.
type Entry struct {
	Version  int      `json:"tally"` // of the form: 1
	Job      string   `json:"job"`
	When     string   `json:"when,omitempty"`
	Undone   bool     `json:"undone,omitempty"` // this line takes the job out again
	Why      string   `json:"why,omitempty"`    // of an undoing
	Causes   []string `json:"causes,omitempty"`
	Repairs  []string `json:"repairs,omitempty"`
	Gone     float64  `json:"gone,omitempty"` // probability that the cause is gone, 0..1
	Findings []Result `json:"findings,omitempty"`
}

// Result is what a check showed in a job whose cause is known.
type Result struct {
	Check string `json:"check"`
	Word  string `json:"word"`
	Words int    `json:"words"` // results that the check can have
	// Likelihood is the probability of this result with the cause, 0..1, blunders
	// counted with the share that the catalogue then had.
	Likelihood float64 `json:"likelihood"`
	Blunder    float64 `json:"blunder"`
}

// version of an entry's form.
const version = 1

// Tally is the entries in the order made.
type Tally struct {
	Entries []Entry
	// Torn are the lines that could not be read and were left out, as a write
	// that was cut off leaves them.
	Torn []Torn
}

// Torn is a line that was left out.
type Torn struct {
	Line int    `json:"line"` // from 1
	Why  string `json:"why"`
}

// Errors of Add and Undo.
var (
	ErrUnproven = errors.New("the repair is not proven: only jobs whose repair is proven count")
	ErrNoCause  = errors.New("the job names no cause: write closing: {cause: ...}")
	ErrKeptOut  = errors.New("the job says tally: no")
	ErrTwice    = errors.New("the job is in the tally already: undo it first")
	ErrAbsent   = errors.New("the job is not in the tally")
)

// longest is the most that a line may have, bytes: judgement; a job's findings
// take a few thousand.
const longest = 1 << 20

// Read reads a tally of one JSON object a line. A line that is no whole entry is
// left out and named in Torn: one bad line must not silence all the others. A line
// of a newer program is an error, because leaving it out would teach something
// else than was learned.
func Read(r io.Reader, name string) (*Tally, error) {
	t := &Tally{}
	lines := bufio.NewReader(r)
	for n := 1; ; n++ {
		text, err := lines.ReadString('\n')
		if err != nil && err != io.EOF {
			return nil, fmt.Errorf("read %s: %w", name, err)
		}
		if text = strings.TrimSpace(text); text != "" {
			e, bad := readLine(text)
			switch {
			case errors.Is(bad, errNewer):
				return nil, fmt.Errorf("%s:%d: %w", name, n, bad)
			case bad != nil:
				t.Torn = append(t.Torn, Torn{n, bad.Error()})
			default:
				t.Entries = append(t.Entries, e)
			}
		}
		if err == io.EOF {
			return t, nil
		}
	}
}

// errNewer marks a line of a newer program.
var errNewer = errors.New("written by a newer version of this program")

func readLine(text string) (e Entry, err error) {
	if len(text) > longest {
		return e, fmt.Errorf("it has %d bytes; a line has at most %d", len(text), longest)
	}
	var v struct{ Tally int }
	if json.Unmarshal([]byte(text), &v) == nil && v.Tally > version {
		return e, fmt.Errorf("tally version %d, %w; this one knows version %d", v.Tally, errNewer, version)
	}
	d := json.NewDecoder(strings.NewReader(text))
	d.DisallowUnknownFields()
	if err := d.Decode(&e); err != nil {
		return e, fmt.Errorf("this is no line of a tally: %w", err)
	}
	if d.More() {
		return e, errors.New("this is more than one line of a tally")
	}
	return e, e.check()
}

func (e *Entry) check() error {
	switch {
	case e.Version != version:
		return fmt.Errorf("tally version %d; this program knows version %d", e.Version, version)
	case e.Job == "":
		return errors.New("the line names no job")
	case !e.Undone && len(e.Causes) == 0:
		return fmt.Errorf("job %q: the line names no cause", e.Job)
	}
	for _, f := range e.Findings {
		if f.Words < 2 || !(f.Likelihood >= 0 && f.Likelihood <= 1) || !(f.Blunder >= 0 && f.Blunder < 1) {
			return fmt.Errorf("job %q: finding %s: %d results, likelihood %g, blunder %g; want at least 2 results and shares from 0 to 1", e.Job, f.Check, f.Words, f.Likelihood, f.Blunder)
		}
	}
	return nil
}

// WriteEntry writes one line.
func WriteEntry(w io.Writer, e Entry) error {
	e.Version = version
	if err := json.NewEncoder(w).Encode(e); err != nil {
		return fmt.Errorf("write tally: %w", err)
	}
	return nil
}

// Standing are the entries that count: closed and not undone.
func (t *Tally) Standing() []Entry {
	var out []Entry
	for _, e := range t.Entries {
		if i := slices.IndexFunc(out, func(o Entry) bool { return o.Job == e.Job }); i >= 0 && e.Undone {
			out = slices.Delete(out, i, i+1)
			continue
		}
		if !e.Undone {
			out = append(out, e)
		}
	}
	return out
}

// Add puts a closed job in, as a line to be written.
func (t *Tally) Add(e Entry) (Entry, error) {
	e.Version = version
	if err := e.check(); err != nil {
		return e, err
	}
	if err := t.Lacks(e.Job); err != nil {
		return e, err
	}
	t.Entries = append(t.Entries, e)
	return e, nil
}

// Lacks is ErrTwice for a job that is in already. Whoever is about to prove a job asks first,
// for a proof takes seconds.
func (t *Tally) Lacks(job string) error {
	for _, s := range t.Standing() {
		if s.Job == job {
			return fmt.Errorf("%s: %w", job, ErrTwice)
		}
	}
	return nil
}

// Undo takes a job out, as a line to be written.
func (t *Tally) Undo(job, why string) (Entry, error) {
	for _, s := range t.Standing() {
		if s.Job == job {
			e := Entry{Version: version, Job: job, Undone: true, Why: why}
			t.Entries = append(t.Entries, e)
			return e, nil
		}
	}
	return Entry{}, fmt.Errorf("%s: %w", job, ErrAbsent)
}

// CauseCount is how many closed jobs ended with a cause.
type CauseCount struct {
	Cause  string `json:"cause"`
	Closed int    `json:"closed"`
}

// Counts lists the causes of the standing entries, most frequent first.
func (t *Tally) Counts() []CauseCount {
	n := make(map[string]int)
	for _, e := range t.Standing() {
		for _, c := range e.Causes {
			n[c]++
		}
	}
	out := []CauseCount{}
	for c, v := range n {
		out = append(out, CauseCount{c, v})
	}
	slices.SortFunc(out, func(a, b CauseCount) int {
		return cmp.Or(cmp.Compare(b.Closed, a.Closed), cmp.Compare(a.Cause, b.Cause))
	})
	return out
}
