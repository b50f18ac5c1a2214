package main

import (
	"fmt"
	"io"
	"os"
	"strings"

	"weephole/internal/exit"
	"weephole/internal/paper"

	"github.com/spf13/cobra"
)

// logoFlag is the shop's picture for the head of what is written.
type logoFlag string

func (f *logoFlag) add(cmd *cobra.Command) {
	cmd.Flags().StringVar((*string)(f), "logo", "", "the shop's logo for the head: a PNG or JPEG of at most 200 kB and 2,000 by 2,000 pixels")
}

// read is the picture; nil where none was named. papers are the files that show it: a flag
// that would be ignored is refused.
func (f logoFlag) read(says string, papers ...string) (*paper.Logo, error) {
	if f == "" {
		return nil, nil
	}
	if strings.Join(papers, "") == "" {
		return nil, exit.Usage(fmt.Errorf("--logo: nothing that is asked for shows it; add %s", says))
	}
	file, err := os.Open(string(f))
	if err != nil {
		return nil, exit.Wrong(fmt.Errorf("--logo: %w", err))
	}
	defer file.Close()
	data, err := io.ReadAll(io.LimitReader(file, paper.MostLogoBytes+1))
	if err != nil {
		return nil, fmt.Errorf("--logo %s: %w", f, err)
	}
	l, err := paper.ReadLogo(data)
	if err != nil {
		return nil, exit.Wrong(fmt.Errorf("--logo %s: %w", f, err))
	}
	return l, nil
}
