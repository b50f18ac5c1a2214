package main

import (
	"errors"
	"fmt"
	"strings"

	"weephole/internal/exit"
	"weephole/quantity"

	"github.com/spf13/cobra"
)

// hoseFlags are two hose readings at hot idle in place of a file.
type hoseFlags struct {
	upper, lower, air string
}

func (h *hoseFlags) add(cmd *cobra.Command) {
	fl := cmd.Flags()
	fl.StringVar(&h.upper, "upper-hose", "", `instead of a file: the upper hose at hot idle, such as "86 °C"`)
	fl.StringVar(&h.lower, "lower-hose", "", `with it: the lower hose at the same moment, such as "62 °C"`)
	fl.StringVar(&h.air, "read-in", "", `with them: the outside air then (default: the usual air of a shop)`)
}

func (h *hoseFlags) given() bool { return h.upper+h.lower+h.air != "" }

// orArgument asks for one argument, or for the hose readings and none.
func (h *hoseFlags) orArgument(what string) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		if !h.given() {
			return oneArgument(what)(cmd, args)
		}
		if len(args) > 0 {
			return exit.Usage(fmt.Errorf("%s and hose readings are both given; leave one out, or write the readings into the job", args[0]))
		}
		return nil
	}
}

// job is a job file that holds nothing but the readings.
func (h *hoseFlags) job() (string, error) {
	if h.upper == "" || h.lower == "" {
		return "", exit.Usage(errors.New("one hose reading alone tells little; give both --upper-hose and --lower-hose"))
	}
	var wrong []error
	for _, f := range []struct{ flag, text string }{{"upper-hose", h.upper}, {"lower-hose", h.lower}, {"read-in", h.air}} {
		if f.text == "" {
			continue
		}
		if _, err := quantity.ParseTemperature(f.text); err != nil {
			wrong = append(wrong, fmt.Errorf("--%s: %w", f.flag, err))
		}
	}
	if len(wrong) > 0 {
		return "", exit.Usage(errors.Join(wrong...))
	}
	var b strings.Builder
	b.WriteString("weephole: 1\n")
	if h.air != "" {
		fmt.Fprintf(&b, "shop: {ambient: %q}\n", h.air)
	}
	fmt.Fprintf(&b, "findings:\n  - {check: hose-temps, read: {upper-hose: %q, lower-hose: %q}}\n", h.upper, h.lower)
	return b.String(), nil
}
