package main

import (
	"errors"
	"fmt"

	"weephole/internal/answer"
	"weephole/internal/exit"

	"github.com/spf13/cobra"
)

// addWhatIf adds the flags that change one thing or several.
func addWhatIf(cmd *cobra.Command, w *answer.WhatIf) {
	fl := cmd.Flags()
	fl.StringArrayVar(&w.Findings, answer.IfFound, nil, "what if this was found, as check=word or repair=change; may be given again")
	fl.StringArrayVar(&w.With, answer.IfWith, nil, "what if this tool were at hand; may be given again")
	fl.StringArrayVar(&w.Without, answer.IfWithout, nil, "what if this tool were not at hand; may be given again")
	fl.StringVar(&w.Quote, answer.IfQuote, "", `what if the quote's price were this ("$900")`)
	fl.StringVar(&w.Rate, answer.IfRate, "", `what if the labour rate were this ("$95/h")`)
	fl.StringVar(&w.LeaveIn, answer.IfLeaves, "", `what if the car must leave in this time ("90min")`)
}

// changed makes a what-if ready for the job; a mistake is laid to its flag.
func (b *bench) changed(w answer.WhatIf) (*answer.Change, error) {
	c, err := w.Read(b.model, b.units, b.job.Quote != nil)
	if wrong := (*answer.WrongIf)(nil); errors.As(err, &wrong) {
		return nil, exit.Usage(fmt.Errorf("--%s %q: %w", wrong.Part, wrong.Found, wrong.Err))
	}
	return c, err
}
