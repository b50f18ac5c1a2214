package web

import (
	"net/http"

	"weephole/trace/events"
)

// LogReply is what a log that was brought shows at first sight.
type LogReply struct {
	Name    string      `json:"name"`
	Check   string      `json:"check"`   // which check it is probably of; "" where it shows no coolant
	Says    string      `json:"says"`    // in a sentence
	Doubts  []string    `json:"doubts"`  // what a person should look at
	Choices []LogChoice `json:"choices"` // what only a person can settle, before it counts
}

// LogChoice is a question about a log.
type LogChoice struct {
	What string   `json:"what"`
	Ways []LogWay `json:"ways"` // the first is how it was read
}

// LogWay is one answer to it.
type LogWay struct {
	Says string            `json:"says"`
	Map  map[string]string `json:"map"` // goes into the finding
}

// recognise reads a log of a job and says what it is.
func (ap *filesAPI) recognise(_ http.ResponseWriter, r *http.Request) (any, error) {
	s, err := ap.current(r.Context(), r.PathValue("id"))
	if err != nil {
		return nil, err
	}
	name := r.PathValue("name")
	tr, err := ap.brought(r.Context(), s.ID, name, nil)
	if absent(err) {
		return nil, err
	}
	if err != nil {
		return nil, wrong(http.StatusUnprocessableEntity, "%s cannot be read as a log: %v", name, err)
	}
	e := events.InLog(tr)
	out := LogReply{Name: name, Check: checkOf(&e), Says: e.Summary(s.units()), Doubts: []string{}, Choices: []LogChoice{}}
	for _, a := range tr.Assumed {
		if a.Doubt {
			out.Doubts = append(out.Doubts, upperFirst(a.What)+".")
		}
	}
	for _, c := range tr.Choices {
		ways := []LogWay{}
		for _, w := range c.Ways {
			ways = append(ways, LogWay{w.Says, w.Map})
		}
		out.Choices = append(out.Choices, LogChoice{c.What, ways})
	}
	return out, nil
}

// checkOf is what a log is probably of: a warm-up where the engine was cold when it
// was started, else a drive.
func checkOf(e *events.Events) string {
	switch {
	case e.Verdict == events.NoCoolant || e.Start == nil:
		return ""
	case e.Start.Hot:
		return "drive-log"
	}
	return "warm-up-log"
}
