package store

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"time"
)

// State is a job as it stands after its entries.
type State struct {
	ID       string
	Head     json.RawMessage // a job file without findings
	Findings []Finding       // in the order first made, struck ones too
	Notes    []Note
	Archived bool
	Seq      int64
	Opened   time.Time
	Changed  time.Time
	Entries  []Entry // all of them
}

// Finding is a finding as it stands.
type Finding struct {
	ID      string          `json:"id"`
	Body    json.RawMessage `json:"finding"`
	Who     string          `json:"who"` // who said what stands now
	At      time.Time       `json:"at"`
	Entered time.Time       `json:"entered"`
	Struck  bool            `json:"struck,omitempty"`
	Why     string          `json:"why,omitempty"` // it was struck
	Times   int             `json:"times"`         // entries about it
	Seq     int64           `json:"seq"`           // of the newest of them
	// Overtook: what stands was said by somebody who had not seen the entry
	// before it. Both are in the journal.
	Overtook bool `json:"overtook,omitempty"`
}

// Note is a remark or a file brought to the job.
type Note struct {
	Entry
	Text string `json:"text,omitempty"`
	File string `json:"file,omitempty"`
	Gone bool   `json:"gone,omitempty"` // the file was removed
	// Undone: its author took the remark back.
	Undone bool `json:"undone,omitempty"`
}

// Fold tells how a job stands after the entries, which are in order.
func Fold(entries []Entry) (State, error) {
	if len(entries) == 0 || entries[0].Kind != Opened {
		return State{}, fmt.Errorf("fold a journal: it does not begin with %q", Opened)
	}
	s := State{ID: entries[0].Job, Opened: entries[0].At, Entries: entries}
	for i := range entries {
		if err := s.apply(&entries[i]); err != nil {
			return State{}, fmt.Errorf("fold a journal: entry %d: %w", entries[i].Seq, err)
		}
	}
	return s, nil
}

func (s *State) apply(e *Entry) error {
	s.Seq, s.Changed = e.Seq, e.At
	switch e.Kind {
	case Opened, HeadChanged:
		s.Head = e.Body
	case Found:
		s.Findings = append(s.Findings, Finding{
			ID: e.ID, Body: e.Body, Who: e.Who, At: e.At, Entered: e.Entered, Times: 1, Seq: e.Seq,
		})
	case Corrected, Struck, Restored:
		f := s.Finding(e.Finding)
		if f == nil {
			return fmt.Errorf("finding %q: %w", e.Finding, ErrUnknown)
		}
		return f.apply(e)
	case Noted:
		var b struct{ Text, Undone string }
		if err := json.Unmarshal(e.Body, &b); err != nil {
			return err
		}
		if b.Undone != "" {
			for i := range s.Notes {
				s.Notes[i].Undone = s.Notes[i].Undone || s.Notes[i].ID == b.Undone && s.Notes[i].Kind == Noted
			}
			return nil
		}
		s.Notes = append(s.Notes, Note{Entry: *e, Text: b.Text})
	case Brought:
		name, err := FileOf(e.Body)
		if err != nil {
			return err
		}
		s.Notes = append(s.Notes, Note{Entry: *e, File: name})
	case Removed:
		name, err := FileOf(e.Body)
		if err != nil {
			return err
		}
		for i := range s.Notes {
			s.Notes[i].Gone = s.Notes[i].Gone || s.Notes[i].File == name
		}
	case Archived, Reopened:
		s.Archived = e.Kind == Archived
	default:
		return fmt.Errorf("kind %q is not known", e.Kind)
	}
	return nil
}

func (f *Finding) apply(e *Entry) error {
	f.Overtook = e.Seen != 0 && e.Seen < f.Seq
	f.Times++
	f.Seq, f.Who, f.At, f.Entered = e.Seq, e.Who, e.At, e.Entered
	switch e.Kind {
	case Corrected:
		f.Body = e.Body
	case Struck:
		var b struct{ Why string }
		if len(e.Body) > 0 {
			if err := json.Unmarshal(e.Body, &b); err != nil {
				return err
			}
		}
		f.Struck, f.Why = true, b.Why
	case Restored:
		f.Struck, f.Why = false, ""
	}
	return nil
}

// FileOf is the name of the file that an entry of a file (Brought, Removed) is
// about.
func FileOf(body json.RawMessage) (string, error) {
	var b struct{ File string }
	if err := json.Unmarshal(body, &b); err != nil {
		return "", fmt.Errorf("an entry of a file: %w", err)
	}
	return b.File, nil
}

// Finding gives the finding with the id, nil when there is none.
func (s *State) Finding(id string) *Finding {
	if i := slices.IndexFunc(s.Findings, func(f Finding) bool { return f.ID == id }); i >= 0 {
		return &s.Findings[i]
	}
	return nil
}

// Standing are the findings that are not struck out.
func (s *State) Standing() []Finding {
	var out []Finding
	for _, f := range s.Findings {
		if !f.Struck {
			out = append(out, f)
		}
	}
	return out
}

// Document is the job file as it stands: the head with the standing findings.
func (s *State) Document() (json.RawMessage, error) {
	var doc map[string]json.RawMessage
	if err := json.Unmarshal(s.Head, &doc); err != nil {
		return nil, fmt.Errorf("job %s: head: %w", s.ID, err)
	}
	list := []json.RawMessage{}
	for _, f := range s.Standing() {
		list = append(list, f.Body)
	}
	findings, err := json.Marshal(list)
	if err != nil {
		return nil, fmt.Errorf("job %s: findings: %w", s.ID, err)
	}
	doc["findings"] = findings
	return json.Marshal(doc)
}

// Split takes a job file apart into its head and its findings.
func Split(document []byte) (head json.RawMessage, findings []json.RawMessage, err error) {
	var doc map[string]json.RawMessage
	if err := json.Unmarshal(document, &doc); err != nil {
		return nil, nil, fmt.Errorf("job file: %w", err)
	}
	if raw, ok := doc["findings"]; ok && string(raw) != "null" {
		if err := json.Unmarshal(raw, &findings); err != nil {
			return nil, nil, fmt.Errorf("job file: findings: %w", err)
		}
		delete(doc, "findings")
	}
	head, err = json.Marshal(doc)
	return head, findings, err
}

// Headline is what a list shows of a head: the job's name, the car, the
// complaint. What cannot be read is left empty.
func Headline(head json.RawMessage) (name, car, complaint string) {
	var h struct {
		Job       string
		Vehicle   struct{ Name string }
		Complaint struct {
			Words string
			Signs []string
		}
	}
	_ = json.Unmarshal(head, &h) // a head was read strictly before it was kept; an odd one only loses its line
	complaint = h.Complaint.Words
	if complaint == "" {
		complaint = strings.ReplaceAll(strings.Join(h.Complaint.Signs, ", "), "-", " ")
	}
	return printable(h.Job), printable(h.Vehicle.Name), printable(complaint)
}

// printable leaves zero bytes out: JSON can spell them, PostgreSQL cannot keep them.
func printable(s string) string { return strings.ReplaceAll(s, "\x00", "") }
