package web

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"regexp"
	"strings"
	"time"

	"weephole/internal/job"
	"weephole/internal/store"
)

// bareNumber is a number without a unit.
var bareNumber = regexp.MustCompile(`^\s*[-+−]?[0-9]+([.,][0-9]+)?\s*$`)

// numberAndUnit is a reading as it was typed.
var numberAndUnit = regexp.MustCompile(`^\s*([-+−]?[0-9]+(?:[.,][0-9]+)?)\s*([^\s0-9]+)\s*$`)

// errSent says that the response has been written already.
var errSent = errors.New("sent")

// Failure is what the API answers when it does not do what was asked.
type Failure struct {
	Error FailureBody `json:"error"`
}

// FailureBody tells people and programs what went wrong.
type FailureBody struct {
	Status   int            `json:"status"`
	Message  string         `json:"message"` // for people: what, and what to do
	Retry    bool           `json:"retry"`   // the same request may succeed later
	Problems []*job.Problem `json:"problems,omitempty"`
	Faults   []Fault        `json:"faults,omitempty"` // by field, for a page to say there
	// Standing is what stands where somebody else was quicker, and Seq its entry:
	// sent again with Weephole-Seen: Seq, the same is kept over it.
	Standing json.RawMessage `json:"standing,omitempty"`
	Seq      int64           `json:"seq,omitempty"`
}

// mistake is an error that the asker made.
type mistake struct {
	status  int
	message string
	wait    time.Duration // the same may be tried again after it; 0 it would fail again
	// Where somebody else was quicker: what stands, and its entry.
	standing json.RawMessage
	seq      int64
	fault    *Fault // where it belongs to one field
}

func (m *mistake) Error() string { return m.message }

func wrong(status int, format string, args ...any) error {
	return &mistake{status: status, message: fmt.Sprintf(format, args...)}
}

// failureOf puts an error into the words that people are shown. What it does
// not know is told as an internal failure, and the detail goes to the log.
func failureOf(err error) FailureBody {
	var m *mistake
	var ps job.Problems
	var bad *store.BadTransfer
	var big *http.MaxBytesError
	switch {
	case errors.As(err, &m):
		f := FailureBody{Status: m.status, Message: m.message, Retry: m.wait > 0, Standing: m.standing, Seq: m.seq}
		if m.fault != nil {
			f.Faults = []Fault{*m.fault}
		}
		return f
	case errors.As(err, &ps):
		return FailureBody{Status: http.StatusUnprocessableEntity, Message: strings.Join(problemLines(ps), "\n"), Problems: ps, Faults: faultsOf(ps)}
	case errors.As(err, &bad):
		return FailureBody{Status: http.StatusUnprocessableEntity, Message: bad.Error()}
	case errors.As(err, &big):
		return FailureBody{Status: http.StatusRequestEntityTooLarge, Message: fmt.Sprintf("that is larger than %d MB, the most the bench takes", big.Limit>>20)}
	case errors.Is(err, store.ErrUnknown):
		return FailureBody{Status: http.StatusNotFound, Message: "there is no such thing here; it may have been removed, or the address is wrong"}
	case errors.Is(err, store.ErrTaken):
		return FailureBody{Status: http.StatusConflict, Message: "another entry was sent under this id already; it is kept as it was"}
	case inServersWords(err) != "":
		status := http.StatusInsufficientStorage
		if errors.Is(err, store.ErrAway) {
			status = http.StatusServiceUnavailable
		}
		return FailureBody{Status: status, Retry: true, Message: "Nothing can be kept just now: " + inServersWords(err) + ". What was confirmed before is safe. What you typed waits on this device."}
	case errors.Is(err, store.ErrFull):
		return FailureBody{Status: http.StatusInsufficientStorage, Retry: true, Message: "The disk is full, so nothing can be kept just now. What was confirmed before is safe. Make room on the machine that runs the bench; what you typed waits on this device."}
	case errors.Is(err, store.ErrReadOnly):
		return FailureBody{Status: http.StatusInsufficientStorage, Retry: true, Message: "The data folder cannot be written to, so nothing can be kept just now. What was confirmed before is safe. Give the bench its folder back; what you typed waits on this device."}
	case errors.Is(err, store.ErrGone):
		return FailureBody{Status: http.StatusInsufficientStorage, Retry: true, Message: "The database is no longer where the bench opened it: it was moved, deleted or replaced. Nothing can be kept just now. Put the data folder back as it was, or close the bench and open it again. What you typed waits on this device."}
	case errors.Is(err, store.ErrDamaged):
		return FailureBody{Status: http.StatusInsufficientStorage, Retry: true, Message: "The database is damaged, so nothing can be kept just now, and some of what was confirmed may be unreadable. Export the jobs that still open. Then close the bench, move the whole data folder aside, and restore the newest backup into an empty one (weephole restore). What you typed waits on this device."}
	case errors.Is(err, store.ErrDisk):
		return FailureBody{Status: http.StatusInsufficientStorage, Retry: true, Message: "The disk failed to read or write, so nothing can be kept just now. Look at the disk of the machine that runs the bench, and make a backup to another one. What you typed waits on this device."}
	case errors.Is(err, store.ErrAway):
		return FailureBody{Status: http.StatusServiceUnavailable, Retry: true, Message: "The database server does not answer, so nothing can be kept just now. What was confirmed before is safe. What you typed waits on this device and is sent when the server is back."}
	case errors.Is(err, store.ErrOvertaken):
		return FailureBody{Status: http.StatusConflict, Message: "Somebody else changed this meanwhile. Look at what stands now, and decide which of the two holds."}
	case errors.Is(err, context.Canceled), errors.Is(err, context.DeadlineExceeded):
		return FailureBody{Status: http.StatusServiceUnavailable, Retry: true, Message: "that took too long, or the bench is being shut down; try again"}
	}
	return FailureBody{Status: http.StatusInternalServerError, Retry: true, Message: "the bench failed to do that. The log of the program says more."}
}

// inServersWords is a database server's own trouble; "" where the store has no server, or
// its error has no words.
func inServersWords(err error) string {
	var w store.InWords
	if errors.As(err, &w) {
		return w.InWords()
	}
	return ""
}

// problemLines are the problems of a job file as a page tells them, one line each.
func problemLines(ps job.Problems) (lines []string) {
	for _, p := range ps {
		lines = append(lines, plain(p))
	}
	return lines
}

// plain is a problem of a job file as a page tells it: the field in words, and no
// file and line.
func plain(p *job.Problem) string {
	q := *p
	q.File, q.Line, q.Column, q.Path = "", 0, 0, ""
	text := q.Error()
	if where := inWordsOf(p.Path); where != "" {
		return upperFirst(where) + ": " + text
	}
	return upperFirst(text)
}

// ofFinding is the path of a finding in a job file.
var ofFinding = regexp.MustCompile(`^findings\[[0-9]+\]\.?`)

// findingFields are a finding's fields in words, by path. "" stands for those whose
// message says all.
var findingFields = map[string]string{
	"trace": "", "check": "", "repair": "", "found": "What it showed", "read": "What was read", "changed": "What the repair changed", "minutes": "How long it took",
}

// inWordsOf is a field of a job file in words.
func inWordsOf(path string) string {
	path = ofFinding.ReplaceAllString(path, "")
	if name, ok := findingFields[path]; ok {
		return name
	}
	if reading, ok := strings.CutPrefix(path, "read."); ok {
		return strings.ReplaceAll(reading, "-", " ")
	}
	return fieldName(path)
}

// problemInWords is why a job cannot be worked out.
func problemInWords(err error) string {
	var ps job.Problems
	if errors.As(err, &ps) {
		return failureOf(err).Message
	}
	return err.Error()
}

// fail answers with an error: JSON below /api, a page elsewhere.
func (re *responder) fail(w http.ResponseWriter, r *http.Request, err error) {
	if errors.Is(err, errSent) {
		return
	}
	re.health.hear(err)
	f := failureOf(err)
	if f.Status >= 500 && !errors.Is(err, context.Canceled) {
		re.log.Error("request failed", "method", r.Method, "path", r.URL.Path, "error", err)
	}
	if f.Retry {
		w.Header().Set("Retry-After", "5")
	}
	if strings.HasPrefix(r.URL.Path, "/api/") {
		writeJSON(w, f.Status, Failure{f})
		return
	}
	re.page(w, r, f.Status, "failure", failurePage{f, againOf(r, f)})
}

type failurePage struct {
	FailureBody
	Again *again // what was typed into a form, to be sent once more; nil where there is nothing
}

// PageTitle is the title of the page: only an address that leads nowhere is "not found".
func (p failurePage) PageTitle() string {
	if p.Status == http.StatusNotFound {
		return pageTitles["failure"]
	}
	return "That did not work"
}

func writeJSON(w http.ResponseWriter, status int, v any) {
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(status)
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	_ = enc.Encode(v) // the device has gone away; there is nobody to tell
}
