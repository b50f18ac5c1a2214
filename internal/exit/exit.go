// Package exit names the three ways in which the program ends, so that a
// script can tell a fault of the program from a mistake in what it was given.
//
// Problem: an error travels up through many layers before somebody decides
// the process's exit status, and by then nobody remembers whose mistake it was.
// Model: the layer that knows wraps the error once, with [Wrong] or [Usage];
// the outermost layer asks [Of]. Any error that nobody marked is the program's
// own failure. A mark survives further wrapping with %w.
// Assumptions: one process, one status; there is no "partly done".
// It stops being true when killed by a signal: the shell reports that itself.
// Source of the numbers: the program's own promise, documented in README.md.
package exit

import "errors"

// The statuses the program ends with. No other is used.
const (
	Done   = 0 // what was asked for was done
	Failed = 1 // the program, the disk or the network failed; the input may be fine
	Input  = 2 // the input is wrong: a file, a flag, a word; the message says where and what to write instead
)

type marked struct {
	err   error
	usage bool
}

func (m *marked) Error() string { return m.err.Error() }
func (m *marked) Unwrap() error { return m.err }

// Wrong marks err as a mistake in the input: the process ends with [Input].
// Wrong(nil) is nil.
func Wrong(err error) error {
	if err == nil {
		return nil
	}
	return &marked{err: err}
}

// Usage marks err as a mistake on the command line: the process ends with
// [Input], and the message points to --help. Usage(nil) is nil.
func Usage(err error) error {
	if err == nil {
		return nil
	}
	return &marked{err: err, usage: true}
}

// Of gives the status to end with: [Done] for nil, [Input] for a marked error,
// [Failed] for any other.
func Of(err error) int {
	var m *marked
	switch {
	case err == nil:
		return Done
	case errors.As(err, &m):
		return Input
	}
	return Failed
}

// IsUsage tells whether err was marked by [Usage].
func IsUsage(err error) bool {
	var m *marked
	return errors.As(err, &m) && m.usage
}
