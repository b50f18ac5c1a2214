package main

import (
	"io"
	"os"
	"strconv"
	"time"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"weephole/internal/work"
	"weephole/lineup"
)

// environment is what a command may touch of the world outside. A command
// takes everything from here, so that a test can hand it a made-up world.
type environment struct {
	In  io.Reader
	Out io.Writer // the answer, and nothing else
	Err io.Writer // progress, warnings, errors

	IsTerminal    bool // Out is a terminal
	ErrIsTerminal bool // Err is a terminal: progress may be drawn
	Width         int  // columns of the terminal; 80 where there is none

	Program string // as it was called, for commands to copy
	Now     func() time.Time
	Getenv  func(string) string

	Model func() (*lineup.Model, error) // what is known, without the shop's own sheets
	Share work.Sharing                  // engines that another command has drawn; nil: none
}

// plainWidth is the width assumed without a terminal: common practice, no source.
const plainWidth = 80

// system is the environment of a real run.
func system() environment {
	env := environment{
		In: os.Stdin, Out: os.Stdout, Err: os.Stderr,
		IsTerminal:    term.IsTerminal(int(os.Stdout.Fd())),
		ErrIsTerminal: term.IsTerminal(int(os.Stderr.Fd())),
		Width:         plainWidth,
		Program:       os.Args[0],
		Now:           time.Now,
		Getenv:        os.Getenv,
		Model:         lineup.DefaultModel,
	}
	if w, _, err := term.GetSize(int(os.Stdout.Fd())); err == nil && w > 0 {
		env.Width = w
	} else if w, err := strconv.Atoi(env.Getenv("COLUMNS")); err == nil && w > 0 {
		env.Width = w
	}
	return env
}

// Color tells whether the answer may be coloured: --color always or never wins;
// with auto, only a terminal that is not "dumb" and where NO_COLOR is unset or
// empty gets colour.
func (env environment) Color(cmd *cobra.Command) bool {
	if f := cmd.Flags().Lookup("color"); f != nil {
		switch f.Value.String() {
		case "always":
			return true
		case "never":
			return false
		}
	}
	return env.IsTerminal && env.Getenv("NO_COLOR") == "" && env.Getenv("TERM") != "dumb"
}
