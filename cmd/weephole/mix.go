package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"strings"

	"weephole/coolant"
	"weephole/internal/exit"
	"weephole/quantity"

	"github.com/spf13/cobra"
)

// mixCautions come before any answer.
var mixCautions = []string{
	"Never open a hot system: it boils over at once and scalds. Wait until cold.",
	"Coolant is poisonous and tastes sweet to children and animals: wipe it up.",
	"Never mix unknown types. The maker's data say which coolant, and how strong.",
	"Used coolant is waste by local rules: not into a drain, not on the ground.",
}

const mixLong = `Says when a mix of glycol and water freezes, and when it boils: open, and under
the cap at your altitude. It also says what to drain and fill to reach another
strength, or protection down to a lowest temperature.

Give the mix as a strength by volume (--strength), or as the freezing point your
tester reads (--freezes). Without a target the answer is about the mix alone.
Strength is glycol by volume, as on the can. Concentrate counts as 100 %, ready
mix as its label says.

Freezing means the first ice crystals. The figures are of pure glycol and water.
Commercial coolant contains some water and additives, so a strong mix boils a few
degrees lower. Frost figures are rounded to the warm side.
Refilling assumes that the rest mixes well. Run the engine until the heater is
hot, and let it cool before the next drain or measurement.`

const mixExamples = `  weephole mix --strength 50% --cap "16 psi" --altitude "5000 ft" --units us
  weephole mix --freezes "-18 °C" --protect "-35 °C" --system "6.5 L"
  weephole mix --strength 30% --target 50% --system "8 qt" --drains "5 qt" --units us
  weephole mix --strength 50% --system "8 L" --drains "4 L" --renew 90% --json`

// mixFlags are the flags as typed.
type mixFlags struct {
	glycol, strength, freezes, boilingCap, altitude string
	target, protect, fill, system, drains, renew    string
	units                                           string
	json                                            bool
}

func mixCommand(env environment) *cobra.Command {
	var typed mixFlags
	cmd := &cobra.Command{
		Use:     "mix (--strength SHARE | --freezes TEMPERATURE) [flags]",
		Short:   "say when a coolant mix freezes and boils, and what to drain and fill",
		Long:    mixLong,
		Example: mixExamples,
		Args:    noArguments,
		RunE: func(*cobra.Command, []string) error {
			question, units, err := typed.read()
			if err != nil {
				return exit.Usage(err)
			}
			answer, err := question.answer()
			if err != nil {
				return exit.Usage(err)
			}
			if typed.json {
				enc := json.NewEncoder(env.Out)
				enc.SetIndent("", "  ")
				return enc.Encode(answer.rounded())
			}
			_, err = fmt.Fprint(env.Out, answer.text(units))
			return err
		},
	}
	f := cmd.Flags()
	f.StringVar(&typed.glycol, "glycol", "ethylene", "ethylene or propylene, as the can says")
	f.StringVar(&typed.strength, "strength", "", `glycol by volume in the system now, such as "50 %"`)
	f.StringVar(&typed.freezes, "freezes", "", `instead of --strength: the freezing point that a tester reads, such as "-18 °C"`)
	f.StringVar(&typed.boilingCap, "cap", "", `pressure on the cap, such as "16 psi" or "1.1 bar"`)
	f.StringVar(&typed.altitude, "altitude", "0 m", `above sea level, such as "5000 ft"`)
	f.StringVar(&typed.target, "target", "", `strength to reach, such as "50 %"`)
	f.StringVar(&typed.protect, "protect", "", `instead of --target: lowest temperature to protect to, such as "-35 °C"`)
	f.StringVar(&typed.fill, "fill", "", `strength of what is filled in (without it: concentrate to strengthen, water to weaken)`)
	f.StringVar(&typed.system, "system", "", `volume of the whole system, such as "8 qt"; without it the answer is in shares`)
	f.StringVar(&typed.drains, "drains", "", `volume (or share) that comes out at a time (without it: all of it can)`)
	f.StringVar(&typed.renew, "renew", "", `share of the coolant to be new in the end, such as "90 %": how many drain-and-refills`)
	f.StringVar(&typed.units, "units", "metric", `units of the answer: metric, us, or a mixture such as "metric, psi"`)
	f.BoolVar(&typed.json, "json", false, "as a JSON object; fields are named with their units")
	return cmd
}

// mixQuestion is the flags understood.
type mixQuestion struct {
	glycol    coolant.Glycol
	strength  quantity.Share
	atLeast   bool // the mix may be stronger
	cap       *quantity.Pressure
	altitude  quantity.Length
	target    *quantity.Share
	fill      *quantity.Share
	system    *quantity.Volume
	drainable quantity.Share // of the system, at a time
	renew     *quantity.Share
}

// read turns the flags into a question; an error names its flag.
func (f mixFlags) read() (q mixQuestion, u quantity.Units, err error) {
	var several []error
	note := func(flag string, err error) {
		if err != nil {
			several = append(several, fmt.Errorf("--%s: %w", flag, err))
		}
	}
	u, err = quantity.ParseUnits(f.units)
	note("units", err)
	q.glycol, err = readGlycol(f.glycol)
	note("glycol", err)
	q.altitude, err = quantity.ParseLength(f.altitude)
	note("altitude", err)
	q.cap, err = optional(f.boilingCap, quantity.ParsePressure)
	note("cap", err)
	q.fill, err = optional(f.fill, quantity.ParseShare)
	note("fill", err)
	q.system, err = optional(f.system, quantity.ParseVolume)
	note("system", err)
	q.renew, err = optional(f.renew, quantity.ParseShare)
	note("renew", err)
	if len(several) > 0 {
		return q, u, errors.Join(several...)
	}

	now, err := q.shareOf("strength", f.strength, "freezes", f.freezes, func(c float64) (v float64, err error) {
		v, q.atLeast, err = coolant.VolumeFractionOfReading(q.glycol, c)
		return v, err
	})
	if err != nil {
		return q, u, err
	}
	if now == nil {
		return q, u, errors.New(`which mix? write --strength "50 %" or --freezes "-37 °C"`)
	}
	q.strength = *now
	if q.target, err = q.shareOf("target", f.target, "protect", f.protect, func(c float64) (float64, error) {
		return coolant.VolumeFractionForC(q.glycol, c)
	}); err != nil {
		return q, u, err
	}
	q.drainable, err = q.readDrains(f.drains)
	return q, u, err
}

// readDrains reads what comes out at a time, as a volume or as a share of the system.
func (q mixQuestion) readDrains(text string) (quantity.Share, error) {
	if text == "" {
		return 1, nil
	}
	if share, err := quantity.ParseShare(text); err == nil {
		return share, nil
	}
	volume, err := quantity.ParseVolume(text)
	switch {
	case err != nil:
		return 0, fmt.Errorf("--drains: %w", err)
	case q.system == nil:
		return 0, errors.New("--drains: a volume says little without the whole; add --system, or write a share such as \"50 %\"")
	case volume > *q.system:
		return 0, fmt.Errorf("--drains: %s is more than the whole system (--system %s)", volume, *q.system)
	}
	return quantity.Share(volume / *q.system), nil
}

// shareOf reads a strength from either a share or a freezing point, of which one may be given.
func (q mixQuestion) shareOf(shareFlag, share, frostFlag, frost string, strength func(freezesC float64) (float64, error)) (*quantity.Share, error) {
	if share != "" && frost != "" {
		return nil, fmt.Errorf("--%s and --%s say the same thing twice; give one of them", shareFlag, frostFlag)
	}
	if share != "" {
		s, err := quantity.ParseShare(share)
		if err != nil {
			return nil, fmt.Errorf("--%s: %w", shareFlag, err)
		}
		return &s, nil
	}
	if frost == "" {
		return nil, nil
	}
	t, err := quantity.ParseTemperature(frost)
	if err != nil {
		return nil, fmt.Errorf("--%s: %w", frostFlag, err)
	}
	v, err := strength(t.Celsius())
	if err != nil {
		return nil, fmt.Errorf("--%s: %w", frostFlag, err)
	}
	s := quantity.Share(v)
	return &s, nil
}

func readGlycol(word string) (g coolant.Glycol, err error) {
	if err = g.UnmarshalText([]byte(strings.ToLower(word))); err == nil {
		return g, nil
	}
	var words []string
	for _, g := range coolant.Glycols() {
		words = append(words, g.String())
	}
	if near := quantity.Nearest(word, words); near != "" {
		return g, fmt.Errorf("found %q; write %s", word, near)
	}
	return g, fmt.Errorf("found %q; write %s", word, strings.Join(words, " or "))
}

func optional[T any](text string, parse func(string) (T, error)) (*T, error) {
	if text == "" {
		return nil, nil
	}
	v, err := parse(text)
	if err != nil {
		return nil, err
	}
	return &v, nil
}
