package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"

	"weephole/internal/exit"

	"github.com/spf13/cobra"
)

// commands lists the program's commands in the order in which help shows them.
func commands(env environment) []*cobra.Command {
	return []*cobra.Command{
		demoCommand(env),
		oddsCommand(env),
		nextCommand(env),
		traceCommand(env),
		repairCommand(env),
		proofCommand(env),
		marginCommand(env),
		driveCommand(env),
		letterCommand(env),
		tallyCommand(env),
		serveCommand(env),
		backupCommand(env),
		restoreCommand(env),
		moveCommand(env),
		storeCommand(env),
		shopCommand(env),
		trialCommand(env),
		mixCommand(env),
		sayCommand(env),
		wordsCommand(env),
		schemaCommand(env),
		versionCommand(env),
	}
}

// run does one command line and gives the status to end with.
func run(ctx context.Context, args []string, env environment) int {
	root := rootCommand(env)
	root.SetArgs(args)
	cmd, err := root.ExecuteContextC(ctx)
	if err != nil {
		report(env, cmd, args, err)
	}
	return exit.Of(err)
}

func rootCommand(env environment) *cobra.Command {
	var version bool
	root := &cobra.Command{
		Use:   "weephole",
		Short: "find out why an engine runs hot, cold or dry, and prove the repair",
		Long: `weephole simulates thousands of copies of one engine's cooling circuit, each with a
different fault. It compares every finding with each of them. It says what is
probably wrong, what to check next and why, and what a wrong repair would cost.
After the repair it says which run can prove it.

Nothing leaves this machine. Percentages are the model's, not a promise: the
vehicle maker's data and local rules come first.`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) > 0 {
				return exit.Usage(unknownCommand(cmd, args[0]))
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, _ []string) error {
			if version {
				return printVersion(env, false)
			}
			return cmd.Help()
		},
		SilenceErrors: true,
		SilenceUsage:  true,
	}
	root.SuggestionsMinimumDistance = 2 // letters; judgement
	root.SetIn(env.In)
	root.SetOut(env.Out)
	root.SetErr(env.Err)
	root.Flags().BoolVar(&version, "version", false, "print the version and end")
	color := colorFlag("auto")
	root.PersistentFlags().Var(&color, "color", "colour the answer: auto, always or never (NO_COLOR is obeyed)")
	root.SetFlagErrorFunc(func(_ *cobra.Command, err error) error { return exit.Usage(err) })
	root.SetHelpCommand(helpCommand())
	root.AddCommand(commands(env)...)
	root.SetUsageTemplate(usageTemplate)
	root.SetHelpTemplate(helpTemplate)
	return root
}

// colorFlag is a word out of three.
type colorFlag string

func (c *colorFlag) String() string { return string(*c) }
func (c *colorFlag) Type() string   { return "when" }
func (c *colorFlag) Set(s string) error {
	words := []string{"auto", "always", "never"}
	if !slices.Contains(words, s) {
		return fmt.Errorf("write one of %s", strings.Join(words, ", "))
	}
	*c = colorFlag(s)
	return nil
}

// report writes the error where people or scripts look for it: one line a
// problem on the error output, or one JSON object there with --json.
func report(env environment, cmd *cobra.Command, args []string, err error) {
	if wantsJSON(args) {
		out, merr := json.Marshal(errorReport{Error: errorBody{
			Status: exit.Of(err), Message: err.Error(), Problems: problemsOf(err),
		}})
		if merr == nil {
			fmt.Fprintf(env.Err, "%s\n", out)
			return
		}
	}
	if problemsOf(err) != nil { // one line each, and each begins with its file and line
		fmt.Fprintf(env.Err, "%v\n", err)
		return
	}
	fmt.Fprintf(env.Err, "weephole: %v\n", err)
	if exit.IsUsage(err) {
		fmt.Fprintf(env.Err, "see: %s --help\n", cmd.CommandPath())
	}
}

// errorReport is what --json prints on the error output; docs/job-file.md
// documents its fields.
type errorReport struct {
	Error errorBody `json:"error"`
}

type errorBody struct {
	Status   int    `json:"status"`
	Message  string `json:"message"`
	Problems any    `json:"problems,omitempty"`
}

// problemsOf gives the single problems of an error that carries several.
func problemsOf(err error) any {
	var several interface{ List() any }
	if errors.As(err, &several) {
		return several.List()
	}
	return nil
}

// wantsJSON reads the raw arguments, because a flag error comes before the
// flags are known.
func wantsJSON(args []string) bool {
	for _, a := range args {
		switch a {
		case "--":
			return false
		case "--json", "--json=true":
			return true
		}
	}
	return false
}
