package main

import (
	"encoding/json"
	"fmt"
	"runtime"
	"runtime/debug"
	"strings"

	"github.com/spf13/cobra"
)

// Set by the linker in "make build"; empty after a plain go build or go install.
var (
	version string // git describe
	commit  string
)

// identity says which program this is.
type identity struct {
	Name    string `json:"name"`
	Version string `json:"version"`
	Commit  string `json:"commit,omitempty"`
	Dirty   bool   `json:"dirty,omitempty"` // built from a changed working tree
	Go      string `json:"go"`
	OS      string `json:"os"`
	Arch    string `json:"arch"`
}

// identify takes the linker's word first, then what the go command noted in
// the binary, and else says "dev".
func identify() identity {
	id := identity{Name: "weephole", Version: version, Commit: commit,
		Go: runtime.Version(), OS: runtime.GOOS, Arch: runtime.GOARCH}
	if info, ok := debug.ReadBuildInfo(); ok {
		if id.Version == "" && info.Main.Version != "(devel)" {
			id.Version = info.Main.Version
		}
		for _, s := range info.Settings {
			switch {
			case s.Key == "vcs.revision" && id.Commit == "":
				id.Commit = s.Value
			case s.Key == "vcs.modified":
				id.Dirty = s.Value == "true"
			}
		}
	}
	if id.Version == "" {
		id.Version = "dev"
	}
	id.Dirty = id.Dirty || strings.HasSuffix(id.Version, "-dirty") // git describe's word
	return id
}

func printVersion(env environment, asJSON bool) error {
	id := identify()
	if asJSON {
		enc := json.NewEncoder(env.Out)
		enc.SetIndent("", "  ")
		return enc.Encode(id)
	}
	_, err := fmt.Fprintf(env.Out, "weephole %s (%s, %s/%s)\n", id.Version, id.Go, id.OS, id.Arch)
	return err
}

func versionCommand(env environment) *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:     "version",
		Short:   "print which version this is",
		Example: "  weephole version\n  weephole version --json",
		Args:    noArguments,
		RunE:    func(*cobra.Command, []string) error { return printVersion(env, asJSON) },
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "as a JSON object: name, version, commit, dirty, go, os, arch")
	return cmd
}
