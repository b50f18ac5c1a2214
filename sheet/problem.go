package sheet

import (
	"fmt"
	"io"
	"strings"

	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"
)

// Source is a sheet's text and the name to call it by in errors.
type Source struct {
	Name string
	Data []byte

	parsed *ast.File // by Parsed
}

// Parsed is the sheet with its text parsed beforehand, so that reading it again
// under another overlay costs little. A text that is no YAML stays unparsed, and
// Read says why.
func (s Source) Parsed() Source {
	if s.parsed == nil && len(s.Data) <= maxBytes {
		if file, err := parser.ParseBytes(s.Data, 0); err == nil {
			s.parsed = file
		}
	}
	return s
}

// At is where in the sheets something was written.
type At struct {
	File string
	Line int    // from 1; 0 when unknown
	Path string // "causes[3].acts[0]"
}

// Mistake is one mistake in a sheet.
type Mistake struct {
	At      At
	Field   string // the field, if the problem is with one
	Message string // what was found, and what to write instead
}

// Error says where and what: "file:line: path.field: message".
func (p Mistake) Error() string {
	where := p.At.File
	if p.At.Line > 0 {
		where = fmt.Sprintf("%s:%d", where, p.At.Line)
	}
	path := p.At.Path
	switch {
	case path == "":
		path = p.Field
	case p.Field != "":
		path += "." + p.Field
	}
	if path == "" {
		return fmt.Sprintf("%s: %s", where, p.Message)
	}
	return fmt.Sprintf("%s: %s: %s", where, path, p.Message)
}

// maxProblems is how many problems an error lists before it only counts them;
// more than a screenful helps nobody.
const maxProblems = 20

// Mistakes are all the mistakes that were found; as an error they are listed
// one a line.
type Mistakes []Mistake

// Error lists the problems.
func (ps Mistakes) Error() string {
	var b strings.Builder
	for i, p := range ps {
		if i == maxProblems {
			fmt.Fprintf(&b, "\nand %d more", len(ps)-i)
			break
		}
		if i > 0 {
			b.WriteByte('\n')
		}
		b.WriteString(p.Error())
	}
	return b.String()
}

// Err is nil when there are no problems.
func (ps Mistakes) Err() error {
	if len(ps) == 0 {
		return nil
	}
	return ps
}

// Add notes a problem with a field at a place.
func (ps *Mistakes) Add(at At, field, format string, args ...any) {
	*ps = append(*ps, Mistake{At: at, Field: field, Message: fmt.Sprintf(format, args...)})
}

// ReadAll reads a sheet's text, refusing more than a sheet can be without
// reading it whole.
func ReadAll(r io.Reader, name string) ([]byte, error) {
	data, err := io.ReadAll(io.LimitReader(r, maxBytes+1))
	if err != nil {
		return nil, fmt.Errorf("read %s: %w", name, err)
	}
	if len(data) > maxBytes {
		return nil, Mistake{At: At{File: name}, Message: fmt.Sprintf("the file is larger than %d bytes; that is no sheet", maxBytes)}
	}
	return data, nil
}
