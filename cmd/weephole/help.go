package main

import (
	"fmt"

	"weephole/internal/exit"

	"github.com/spf13/cobra"
)

// helpTemplate is the order in which a tired person reads: what it is for,
// examples to copy, how to call it, the long story, the flags, the status.
const helpTemplate = `{{.CommandPath}}: {{.Short}}
{{if .HasExample}}
EXAMPLES
{{.Example}}
{{end}}
USAGE
  {{if .HasAvailableSubCommands}}{{.CommandPath}} COMMAND [flags]{{else}}{{.UseLine}}{{end}}
{{if .Long}}
{{.Long}}
{{end}}{{if .HasAvailableSubCommands}}
COMMANDS
{{range .Commands}}{{if .IsAvailableCommand}}  {{rpad .Name .NamePadding}} {{.Short}}
{{end}}{{end}}{{end}}{{if .HasAvailableLocalFlags}}
FLAGS
{{.LocalFlags.FlagUsages | trimTrailingWhitespaces}}
{{end}}{{if .HasAvailableInheritedFlags}}
FLAGS OF EVERY COMMAND
{{.InheritedFlags.FlagUsages | trimTrailingWhitespaces}}
{{end}}` + exitStatus

// usageTemplate is what a misuse would print; run prints one line instead.
const usageTemplate = `usage: {{.UseLine}}
`

// exitStatus closes every help text. The numbers are those of package exit.
const exitStatus = `
EXIT STATUS
  0  done
  1  the program failed: the input may be fine
  2  the input is wrong: the message says where, what was expected and what to write
`

// helpCommand is "weephole help COMMAND", which unlike cobra's own says so
// when it does not know the command.
func helpCommand() *cobra.Command {
	return &cobra.Command{
		Use:     "help [COMMAND]",
		Short:   "print the help of a command",
		Example: "  weephole help schema",
		ValidArgsFunction: func(cmd *cobra.Command, _ []string, _ string) ([]string, cobra.ShellCompDirective) {
			var names []string
			for _, c := range cmd.Root().Commands() {
				if c.IsAvailableCommand() {
					names = append(names, c.Name())
				}
			}
			return names, cobra.ShellCompDirectiveNoFileComp
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			found, rest, err := cmd.Root().Find(args)
			if err != nil || (found == cmd.Root() && len(rest) > 0) {
				return exit.Usage(unknownCommand(cmd.Root(), args[0]))
			}
			found.InitDefaultHelpFlag()
			return found.Help()
		},
	}
}

// unknownCommand says which command was not known and which one was near.
func unknownCommand(root *cobra.Command, word string) error {
	if near := root.SuggestionsFor(word); len(near) > 0 {
		return fmt.Errorf("unknown command %q; did you mean %q?", word, near[0])
	}
	return fmt.Errorf("unknown command %q", word)
}

// noArguments and oneArgument are cobra's argument rules with a plain sentence.
func noArguments(cmd *cobra.Command, args []string) error {
	if len(args) > 0 {
		return exit.Usage(fmt.Errorf("%s takes no argument, but got %q", cmd.Name(), args[0]))
	}
	return nil
}

func oneArgument(what string) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		switch {
		case len(args) == 0:
			return exit.Usage(fmt.Errorf("%s needs %s", cmd.Name(), what))
		case len(args) > 1:
			return exit.Usage(fmt.Errorf("%s takes one argument, %s, but got %d", cmd.Name(), what, len(args)))
		}
		return nil
	}
}
