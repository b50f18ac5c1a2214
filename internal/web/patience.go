package web

import (
	"context"
	"io"
	"net/http"
	"strings"
	"time"
)

// What a slow or silent device may hold. All are judgement: a phone at the far
// end of the list moves 256 KB in 20 s, and large bodies of 32 MB each are in
// memory as a whole.
const (
	patience    = 20 * time.Second // for one piece of an answer or a body
	pieceBytes  = 256 << 10
	largeAtOnce = 3                // large bodies, coming or going
	placeWait   = 30 * time.Second // for one of their places
)

// patient writes an answer piece by piece, each within a time, so that a device
// that never reads does not hold the answer in memory for ever.
type patient struct {
	http.ResponseWriter
	control *http.ResponseController
}

func newPatient(w http.ResponseWriter) *patient {
	p := &patient{w, http.NewResponseController(w)}
	p.until(patience)
	return p
}

func (p *patient) until(d time.Duration) {
	_ = p.control.SetWriteDeadline(time.Now().Add(d)) // not every writer has deadlines; those of tests have none
}

func (p *patient) Write(data []byte) (n int, err error) {
	for {
		piece := data[n:min(n+pieceBytes, len(data))]
		p.until(patience)
		m, err := p.ResponseWriter.Write(piece)
		n += m
		if err != nil || n == len(data) {
			return n, err
		}
	}
}

// WriteHeader gives the answer its time again: one without a body, as that of a login
// that had to wait for its turn, is never written piece by piece.
func (p *patient) WriteHeader(status int) {
	p.until(patience)
	p.ResponseWriter.WriteHeader(status)
}

// Unwrap gives the writer below, for http.ResponseController.
func (p *patient) Unwrap() http.ResponseWriter { return p.ResponseWriter }

// patientBody reads a large body, each piece within a time.
type patientBody struct {
	io.ReadCloser
	control *http.ResponseController
}

func (b *patientBody) Read(p []byte) (int, error) {
	_ = b.control.SetReadDeadline(time.Now().Add(patience)) // as above
	return b.ReadCloser.Read(p)
}

// large tells of a request whose body or answer may be large.
func large(r *http.Request) bool {
	path := r.URL.Path
	return strings.HasPrefix(path, "/api/jobs/") && (strings.Contains(path, "/files") || strings.HasSuffix(path, "/export")) || path == "/api/import"
}

// place waits for one of the places for large bodies.
func (g *guard) place(r *http.Request) (done func(), err error) {
	ctx, cancel := context.WithTimeout(r.Context(), placeWait)
	defer cancel()
	if err := take(ctx, g.large); err != nil {
		return nil, &mistake{status: http.StatusServiceUnavailable, wait: patience, message: "Too many files are coming and going just now. Try again in a moment."}
	}
	return func() { <-g.large }, nil
}
