package main

import (
	"fmt"
	"io"

	"weephole/internal/paper"

	"github.com/spf13/cobra"
)

const letterLong = `Writes the account for the owner from the job. It has what the owner told, what
was measured, and what the fault was and was not, with the reasons. Then it says
what was done and whether that is proven. At the end it has the cost beside the
quote, and what to watch.

One or two pages. --html and --pdf write files ("-" is the standard output);
--text writes a few lines for a text message. Without any of them those few
lines are printed.`

const letterExamples = `  weephole letter hill-climber.yaml --html letter.html --pdf letter.pdf
  weephole letter hill-climber.yaml --text -
  weephole letter hill-climber.yaml --pdf letter.pdf --logo logo.png`

func letterCommand(env environment) *cobra.Command {
	var f workFlags
	var html, pdf, text string
	var logo logoFlag
	cmd := &cobra.Command{
		Use:     "letter JOB",
		Short:   "write the owner's letter, in HTML, PDF or a few lines",
		Long:    letterLong,
		Example: letterExamples,
		Args:    oneArgument("a job file"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := oneAnswer(f.json, html, pdf, text); err != nil {
				return err
			}
			picture, err := logo.read("--html F or --pdf F", html, pdf)
			if err != nil {
				return err
			}
			w, err := f.open(cmd.Context(), env, args[0])
			if err != nil {
				return err
			}
			l, err := paper.Compose(cmd.Context(), w, nil)
			if err != nil {
				return err
			}
			l.Logo = picture
			if html == "" && pdf == "" && text == "" && !f.json {
				text = "-"
			}
			_, err = writeAll(env, output{html, l.HTML}, output{pdf, func(to io.Writer) error { return l.PDF(to, env.Now()) }},
				output{text, func(to io.Writer) error { _, err := fmt.Fprintln(to, l.Short); return err }})
			if err == nil && f.json {
				err = writeJSON(env, l)
			}
			return err
		},
	}
	f.add(cmd)
	logo.add(cmd)
	cmd.Flags().StringVar(&html, "html", "", "write the letter as a web page to this file")
	cmd.Flags().StringVar(&pdf, "pdf", "", "write the letter as PDF to this file")
	cmd.Flags().StringVar(&text, "text", "", "write the short version to this file")
	return cmd
}
