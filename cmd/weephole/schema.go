package main

import (
	"fmt"

	"weephole/internal/job"
	"weephole/internal/work"
	"weephole/lineup"

	"github.com/spf13/cobra"
)

const schemaLong = `Prints a JSON Schema (draft 2020-12) of the job file, with the words of this
program's catalogues: checks, causes, repairs, tools, signs. Editors that know
JSON Schema complete keys and words with it, in YAML too. docs/job-file.md tells
the same in sentences.`

func schemaCommand(env environment) *cobra.Command {
	return &cobra.Command{
		Use:     "schema",
		Short:   "print the JSON Schema of the job file",
		Long:    schemaLong,
		Example: "  weephole schema > job.schema.json",
		Args:    noArguments,
		RunE: func(*cobra.Command, []string) error {
			model, err := lineup.DefaultModel()
			if err != nil {
				return fmt.Errorf("load the catalogues: %w", err)
			}
			out, err := job.Schema(work.Vocabulary(model))
			if err != nil {
				return err
			}
			_, err = env.Out.Write(out)
			return err
		},
	}
}
