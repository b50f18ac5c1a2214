package job

import (
	"fmt"
	"strings"
)

// maxProblems is how many problems one reading reports: more would scroll the
// first away. Judgement.
const maxProblems = 20

// Problem is one thing wrong in a job file, told to the person who wrote it.
type Problem struct {
	File    string `json:"file,omitempty"`
	Line    int    `json:"line,omitempty"`   // from 1; 0 unknown
	Column  int    `json:"column,omitempty"` // from 1, in characters
	Path    string `json:"path,omitempty"`   // "findings[2].read.upper-hose"
	Message string `json:"message"`          // what was found and what was expected
	Nearest string `json:"nearest,omitempty"`
	Means   string `json:"means,omitempty"` // what the nearest word means
}

// Error gives "file:line: path: message; did you mean ...?".
func (p *Problem) Error() string {
	var b strings.Builder
	if p.File != "" {
		b.WriteString(p.File)
		if p.Line > 0 {
			fmt.Fprintf(&b, ":%d", p.Line)
		}
		b.WriteString(": ")
	}
	if p.Path != "" {
		b.WriteString(p.Path + ": ")
	}
	b.WriteString(p.Message)
	if p.Nearest != "" {
		fmt.Fprintf(&b, "; did you mean %q?", p.Nearest)
		if p.Means != "" {
			fmt.Fprintf(&b, " (%s)", p.Means)
		}
	}
	return b.String()
}

// Problems are all that is wrong in a job file, in the file's order. As an
// error it prints one line each.
type Problems []*Problem

func (ps Problems) Error() string {
	lines := make([]string, len(ps))
	for i, p := range ps {
		lines[i] = p.Error()
	}
	return strings.Join(lines, "\n")
}

// List gives the problems for printing as JSON.
func (ps Problems) List() any { return []*Problem(ps) }

// Problem makes an error about a value of the job, with its file and line, for
// a layer that finds out later: a trace file that is not there, say.
func (j *Job) Problem(path, format string, args ...any) *Problem {
	at := j.Where(path)
	return &Problem{File: j.file, Line: at.Line, Column: at.Column, Path: path, Message: fmt.Sprintf(format, args...)}
}

func parentPath(path string) string {
	if i := strings.LastIndexAny(path, ".["); i > 0 {
		return path[:i]
	}
	return ""
}
