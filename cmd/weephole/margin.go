package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"weephole/internal/answer"
	"weephole/internal/exit"
	"weephole/internal/work"
	"weephole/margin"
	"weephole/quantity"

	"github.com/spf13/cobra"
)

const marginLong = `Says how much cooling the car has left: the highest outside air in which the coolant
stays below its limit. It says so for five ways of driving: for the car as it is, after
the repair, and for a sound car of its kind. The limit is where this coolant boils
under this cap at this altitude, or the metal where coolant is short.

The file is a job, or a log of a drive: a log is asked about as a job without any
complaint. So are two hose readings at hot idle, given with --upper-hose and
--lower-hose instead of a file; --read-in says in which air. docs/margin.md has the
ways of driving, the method and its limits.`

const marginExamples = `  weephole margin hill-climber.yaml
  weephole margin hill-climber.yaml --air "35 °C" --duty climb --repair replace-thermostat
  weephole margin spring-drive.csv --json | jq '.duties[0].found.in_hand'
  weephole margin --upper-hose "86 °C" --lower-hose "62 °C" --read-in "14 °C" --air "38 °C"`

func marginCommand(env environment) *cobra.Command {
	var f workFlags
	var hoses hoseFlags
	var air string
	var ask work.MarginAsk
	cmd := &cobra.Command{
		Use:     "margin [JOB|LOG]",
		Short:   "say how much cooling is left, before and after the repair",
		Long:    marginLong,
		Example: marginExamples,
		Args:    hoses.orArgument("a job file or a log"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if air != "" {
				t, err := quantity.ParseTemperature(air)
				if err != nil {
					return exit.Usage(fmt.Errorf("--air: %w", err))
				}
				ask.DayC = new(t.Celsius())
			}
			w, err := f.openAny(cmd.Context(), env, args, &hoses)
			if err != nil {
				return err
			}
			found, err := w.Margin(cmd.Context(), ask)
			if err != nil {
				return wrongMargin(err)
			}
			a := answer.ForMargin(found, answer.StyleOf(w))
			return env.tell(cmd, f.json, a, func(p *answer.Page) { p.Margin(a) })
		},
	}
	f.add(cmd)
	hoses.add(cmd)
	fl := cmd.Flags()
	fl.StringVar(&air, "air", "", `outside air of the day that counts, such as "35 °C" (default: a hot summer day)`)
	fl.StringVar(&ask.Duty, "duty", "", "one way of driving only: idle, town, motorway, climb or towing")
	fl.StringArrayVar(&ask.Repairs, "repair", nil, "after this repair; may be repeated (default: done or suggested)")
	return cmd
}

// openAny opens the file that is named, or the hose readings.
func (f *workFlags) openAny(ctx context.Context, env environment, args []string, hoses *hoseFlags) (*work.Work, error) {
	if !hoses.given() {
		return f.openEither(ctx, env, args[0])
	}
	text, err := hoses.job()
	if err != nil {
		return nil, err
	}
	m, err := env.knowledge(f.overlay)
	if err != nil {
		return nil, err
	}
	return f.openFrom(ctx, env, m, strings.NewReader(text), "the hose readings", nil)
}

const driveLong = `Says whether the car gets through a trip as it is: the chance that it gets too hot,
where and when, and what would help. The car starts warm. In doubt the answer is to
have it carried. Without coolant, or with oil in it, the answer is no.

A trip is a list of times and ways of driving: idle, town, motorway, climb, towing.
--road-test asks about the mechanic's own short drive, in the shop's air unless --air
is given. Ask it before every road test.`

const driveExamples = `  weephole drive hill-climber.yaml --air "30 °C" --trip "10 min town, 25 min motorway, 6 min climb"
  weephole drive hill-climber.yaml --air "68 °F" --trip "8 min town" --json
  weephole drive hill-climber.yaml --road-test`

func driveCommand(env environment) *cobra.Command {
	var f workFlags
	var air, trip string
	var roadTest bool
	cmd := &cobra.Command{
		Use:     "drive JOB|LOG",
		Short:   "say whether the car will get through a trip",
		Long:    driveLong,
		Example: driveExamples,
		Args:    oneArgument("a job file or a log"),
		RunE: func(cmd *cobra.Command, args []string) error {
			switch {
			case roadTest && trip != "":
				return exit.Usage(errors.New("--road-test and --trip are both given; leave one out"))
			case roadTest:
				k, err := margin.DefaultCriteria()
				if err != nil {
					return err
				}
				trip = k.RoadTest.Trip
			case trip == "":
				return exit.Usage(errors.New(`--trip is missing; write it as --trip "10 min town, 25 min motorway, 6 min climb", or ask for --road-test`))
			case air == "":
				return exit.Usage(errors.New(`--air is missing; write the outside air as --air "30 °C"`))
			}
			t := quantity.Temperature(math.NaN())
			if air != "" {
				var err error
				if t, err = quantity.ParseTemperature(air); err != nil {
					return exit.Usage(fmt.Errorf("--air: %w", err))
				}
			}
			w, err := f.openEither(cmd.Context(), env, args[0])
			if err != nil {
				return err
			}
			airC := t.Celsius()
			if air == "" {
				airC = w.Case.Shop.AmbientC
			}
			found, err := w.Drive(cmd.Context(), trip, airC)
			if err != nil {
				return wrongMargin(err)
			}
			a := answer.ForDrive(found, answer.StyleOf(w))
			return env.tell(cmd, f.json, a, func(p *answer.Page) { p.Drive(a) })
		},
	}
	f.add(cmd)
	cmd.Flags().StringVar(&air, "air", "", `outside air, such as "30 °C"`)
	cmd.Flags().BoolVar(&roadTest, "road-test", false, "the mechanic's own short drive instead of a trip")
	cmd.Flags().StringVar(&trip, "trip", "", `the trip, such as "10 min town, 25 min motorway, 6 min climb"`)
	return cmd
}

// wrongMargin marks what a person asked for and cannot have.
func wrongMargin(err error) error {
	var unknown *work.UnknownRepair
	var duty *work.UnknownDuty
	var trip *work.WrongTrip
	switch {
	case errors.As(err, &unknown):
		return exit.Usage(fmt.Errorf("--repair: %w", err))
	case errors.As(err, &duty):
		return exit.Usage(fmt.Errorf("--duty: %w", err))
	case errors.As(err, &trip):
		return exit.Usage(fmt.Errorf("--trip: %w", err))
	case errors.Is(err, work.ErrAir):
		return exit.Usage(fmt.Errorf("--air: %w", err))
	}
	return err
}

// jobEndings are the endings of job files; every other file is a log.
var jobEndings = []string{".yaml", ".yml", ".json"}

// openEither opens a job file, or a log as a job that holds nothing but the log.
func (f *workFlags) openEither(ctx context.Context, env environment, name string) (*work.Work, error) {
	if name == "-" || slices.Contains(jobEndings, strings.ToLower(filepath.Ext(name))) {
		return f.open(ctx, env, name)
	}
	info, err := os.Stat(name)
	switch {
	case err != nil:
		return nil, exit.Wrong(err)
	case info.IsDir():
		return nil, exit.Wrong(fmt.Errorf("%s is a folder; give a job file or a log", name))
	}
	m, err := env.knowledge(f.overlay)
	if err != nil {
		return nil, err
	}
	text := fmt.Sprintf("weephole: 1\nfindings:\n  - {check: drive-log, trace: %q}\n", filepath.Base(name))
	return f.openFrom(ctx, env, m, bytes.NewReader([]byte(text)), name, logsIn(filepath.Dir(name)))
}
