package proof

import (
	"bytes"
	_ "embed"
	"fmt"

	"weephole/sheet"
)

//go:embed settings.yaml
var settingsYAML []byte

//go:embed runs.yaml
var runsYAML []byte

// Criteria are the numbers of the proof and the runs that it chooses from;
// settings.yaml and runs.yaml say what each is and where it comes from.
type Criteria struct {
	Engines        sheet.Sourced `sheet:"engines,required"`
	JudgeError     sheet.Sourced `sheet:"judge-error,required"`
	JudgeAway      sheet.Sourced `sheet:"judge-away,required"`
	JudgeAll       sheet.Sourced `sheet:"judge-all,required"`
	MostEngines    sheet.Sourced `sheet:"most-engines,required"`
	PassOdds       sheet.Sourced `sheet:"pass-odds,required"`
	DenyOdds       sheet.Sourced `sheet:"deny-odds,required"`
	ScepticGood    sheet.Sourced `sheet:"sceptic-good,required"`
	Wider          sheet.Sourced `sheet:"wider,required"`
	SlowSD         sheet.Sourced `sheet:"slow-sd,required"`
	Redrawn        sheet.Sourced `sheet:"redrawn,required"`
	RedrawnPart    sheet.Sourced `sheet:"redrawn-part,required"`
	SecondLeast    sheet.Sourced `sheet:"second-least,required"`
	TellShare      sheet.Sourced `sheet:"tell-share,required"`
	Trials         sheet.Sourced `sheet:"trials,required"`
	Step           sheet.Sourced `sheet:"step,required"`
	MostChecks     sheet.Sourced `sheet:"most-checks,required"`
	CheckMinutes   sheet.Sourced `sheet:"check-minutes,required"`
	WorthNaming    sheet.Sourced `sheet:"worth-naming,required"`
	NoticeK        sheet.Sourced `sheet:"notice-k,required"`
	NoticeMetalK   sheet.Sourced `sheet:"notice-metal-k,required"`
	NoticeVentK    sheet.Sourced `sheet:"notice-vent-k,required"`
	NoticeGaugeK   sheet.Sourced `sheet:"notice-gauge-k,required"`
	NoticePressure sheet.Sourced `sheet:"notice-pressure,required"`
	NoticeFan      sheet.Sourced `sheet:"notice-fan,required"`
	NoticeSlower   sheet.Sourced `sheet:"notice-slower,required"`
	HeatSD         sheet.Sourced `sheet:"heat-sd,required"`
	MassSD         sheet.Sourced `sheet:"mass-sd,required"`
	VisibleShare   sheet.Sourced `sheet:"visible-share,required"`
	LeastGain      sheet.Sourced `sheet:"least-gain,required"`
	BesideNaming   sheet.Sourced `sheet:"beside-naming,required"`
	OpenMost       sheet.Sourced `sheet:"open-most,required"`
	Window         sheet.Sourced `sheet:"window,required"`
	WindowSD       sheet.Sourced `sheet:"window-sd,required"`
	FilledLow      sheet.Sourced `sheet:"filled-low,required"`

	OwnerMinutes    sheet.Sourced `sheet:"owner-minutes,required"`
	MadeMost        sheet.Sourced `sheet:"made-most,required"`
	MinutesPower    sheet.Sourced `sheet:"minutes-power,required"`
	UndetectedShare sheet.Sourced `sheet:"undetected-share,required"`
	UnseenTimes     sheet.Sourced `sheet:"unseen-times,required"`
	NamedDoubt      sheet.Sourced `sheet:"named-doubt,required"`
	MainShare       sheet.Sourced `sheet:"main-share,required"`
	Harder          sheet.Sourced `sheet:"harder,required"`
	TellingRatio    sheet.Sourced `sheet:"telling-ratio,required"`
	RunsMost        sheet.Sourced `sheet:"runs-most,required"`
	AlikeSpeed      sheet.Sourced `sheet:"alike-speed,required"`
	AlikeRevs       sheet.Sourced `sheet:"alike-revs,required"`
	ColdStart       sheet.Sourced `sheet:"cold-start,required"`
	LeavesMost      sheet.Sourced `sheet:"leaves-most,required"`
	UnnamedEvery    sheet.Sourced `sheet:"unnamed-every,required"`
	SecondsEach     sheet.Sourced `sheet:"seconds-each,required"`
	SecondTries     sheet.Sourced `sheet:"second-tries,required"`
	SlowBegins      sheet.Sourced `sheet:"slow-begins,required"`
	OffEngines      sheet.Sourced `sheet:"off-engines,required"`
	HotStart        sheet.Sourced `sheet:"hot-start,required"`
	HotSoaked       sheet.Sourced `sheet:"hot-soaked,required"`

	Level     string `sheet:"level,required"`
	LevelFull string `sheet:"level-full,required"`

	Runs []Run
}

// DefaultCriteria reads the embedded numbers and runs.
func DefaultCriteria() (*Criteria, error) {
	return ReadCriteria(
		sheet.Source{Name: "proof/settings.yaml", Data: bytes.Clone(settingsYAML)},
		sheet.Source{Name: "proof/runs.yaml", Data: bytes.Clone(runsYAML)})
}

// ReadCriteria reads a sheet of settings and one of runs; errors name the file,
// line and field.
func ReadCriteria(settings, runs sheet.Source) (*Criteria, error) {
	var s Criteria
	if err := sheet.Read(settings, &s).Err(); err != nil {
		return nil, fmt.Errorf("proof settings: %w", err)
	}
	var l struct {
		Runs []Run `sheet:"runs,required"`
	}
	if err := sheet.Read(runs, &l).Err(); err != nil {
		return nil, fmt.Errorf("proof runs: %w", err)
	}
	for i := range l.Runs {
		if err := l.Runs[i].check(); err != nil {
			return nil, fmt.Errorf("proof runs: %w", err)
		}
	}
	s.Runs = l.Runs
	return &s, nil
}

// Run gives the run with the id, or nil.
func (s *Criteria) Run(id string) *Run {
	for i := range s.Runs {
		if s.Runs[i].ID == id {
			return &s.Runs[i]
		}
	}
	return nil
}
