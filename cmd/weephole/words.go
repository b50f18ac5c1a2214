package main

import (
	"fmt"
	"strings"

	"weephole/internal/exit"
	"weephole/internal/job"
	"weephole/internal/work"

	"github.com/spf13/cobra"
)

const wordsLong = `Lists the words that a job file may use, each with what it means: all of them,
or those that have the given text in the word or in its meaning.`

const wordsExamples = `  weephole words fan
  weephole words "heater hose"
  weephole words --json`

// listedWord is one word as --json prints it.
type listedWord struct {
	Kind  string `json:"kind"` // "sign", "check", "finding", "reading", ...
	Of    string `json:"of,omitempty"`
	Word  string `json:"word"`
	Means string `json:"means"`
}

func wordsCommand(env environment) *cobra.Command {
	var asJSON bool
	var overlay []string
	cmd := &cobra.Command{
		Use:     "words [TEXT]",
		Short:   "list the words of a job file and what they mean",
		Long:    wordsLong,
		Example: wordsExamples,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 1 {
				return exit.Usage(fmt.Errorf("words takes one text, in quotes; it got %d", len(args)))
			}
			return nil
		},
		RunE: func(_ *cobra.Command, args []string) error {
			m, err := env.knowledge(overlay)
			if err != nil {
				return err
			}
			list := wordsOf(work.Vocabulary(m), strings.Join(args, " "))
			if asJSON {
				return writeJSON(env, list)
			}
			if len(list) == 0 {
				fmt.Fprintf(env.Err, "no word has %q in it; try \"weephole say\" with what you would say\n", args[0])
				return nil
			}
			kind := ""
			for _, w := range list {
				if w.Kind != kind {
					kind = w.Kind
					fmt.Fprintf(env.Out, "\n%s\n", strings.ToUpper(kind))
				}
				word := w.Word
				if w.Of != "" {
					word = w.Of + " " + w.Word
				}
				fmt.Fprintf(env.Out, "  %-34s %s\n", word, w.Means)
			}
			return nil
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print a JSON array")
	cmd.Flags().StringArrayVar(&overlay, "overlay", nil, "the shop's own sheet; may be repeated")
	return cmd
}

// wordsOf are the words that have a text in them or in their meaning.
func wordsOf(v job.Vocabulary, text string) []listedWord {
	list := []listedWord{}
	add := func(kind, of, word, means string) {
		if containsAll(of+" "+word+" "+means, text) {
			list = append(list, listedWord{kind, of, word, means})
		}
	}
	for _, k := range []struct {
		kind, key string
		words     []string
	}{
		{"signs", "a sign", v.Signs}, {"conditions", "a condition", v.When}, {"recent work", "a kind of work", v.Work},
		{"repairs", "a repair", v.Repairs}, {"other work tried", "a repair", v.Tried},
		{"causes", "a cause", v.Causes}, {"tools", "a tool", v.Tools},
	} {
		for _, w := range k.words {
			add(k.kind, "", w, v.Says[job.KeyOf(k.key, w)])
		}
	}
	for _, c := range v.Checks {
		name := v.Says[job.KeyOf("a check", c.ID)]
		whole := containsAll(c.ID+" "+name, text)
		entry := func(w, key string) {
			if means := v.Says[job.KeyOf(key, w)]; whole || containsAll(w+" "+means, text) {
				list = append(list, listedWord{"checks", c.ID, w, means})
			}
		}
		if whole {
			list = append(list, listedWord{"checks", "", c.ID, name})
		}
		for _, w := range c.Words {
			entry(w, "a finding of "+c.ID)
		}
		for _, r := range c.Readings {
			entry(r.ID, "a reading of "+c.ID)
		}
	}
	return list
}

// containsAll is true where each word of a text stands somewhere, in any case.
func containsAll(in, text string) bool {
	in = strings.ToLower(in)
	for _, w := range strings.Fields(strings.ToLower(text)) {
		if !strings.Contains(in, w) {
			return false
		}
	}
	return true
}
