package finish

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"strings"
	"sync"

	"weephole/internal/aftercare"
	"weephole/internal/casework"
	"weephole/internal/chart"
	"weephole/internal/job"
	"weephole/internal/letter"
	"weephole/internal/sheetwork"
	"weephole/internal/tally"
	"weephole/lineup"
	"weephole/plan"
	"weephole/proof"
	"weephole/quantity"
)

// Config says how jobs are finished.
type Config struct {
	Model      *lineup.Model
	Plan       *plan.Assumptions
	Candidates int // engines drawn for a proof, a letter or a plan
	Seed       uint64
	Workers    int // cores that drawing a lineup may take
	Kept       int // answers of each kind kept in memory; 0 means 32
}

// keptUsually is how many answers are kept: judgement, more than the jobs that a
// shop finishes in a day.
const keptUsually = 32

// lineupsKept is how many lineups are kept for further what-ifs, and for the
// letter after the proof: judgement, each is some megabytes.
const lineupsKept = 3

// Subject is a job as it stands, to be finished.
type Subject struct {
	Document json.RawMessage // the job file, the shop's settings filled in
	Open     casework.Opener // opens the job's logs
	Units    quantity.Units
	// Repairs are to be planned for where none was done yet; empty: what the
	// odds suggest.
	Repairs []string
}

// Finisher finishes jobs. It may be used from many goroutines.
type Finisher struct {
	cfg     Config
	stop    context.CancelFunc
	wg      sync.WaitGroup
	proofs  *once[*Proof]
	letters *once[*letter.Letter]
	entries *once[tally.Entry]
	plans   *once[*Plan]
	lineups *once[*lineup.Lineup] // of jobs as they stand or stood before their repair
}

// New makes a finisher; Close ends it.
func New(cfg Config) *Finisher {
	if cfg.Kept == 0 {
		cfg.Kept = keptUsually
	}
	ctx, stop := context.WithCancel(context.Background())
	turn, drawing := make(chan struct{}, 1), make(chan struct{}, 1)
	return &Finisher{
		cfg: cfg, stop: stop,
		proofs: newOnce[*Proof](ctx, turn, cfg.Kept), letters: newOnce[*letter.Letter](ctx, turn, cfg.Kept), entries: newOnce[tally.Entry](ctx, turn, cfg.Kept),
		plans: newOnce[*Plan](ctx, turn, cfg.Kept), lineups: newOnce[*lineup.Lineup](ctx, drawing, lineupsKept),
	}
}

// Close stops all work and waits for its end.
func (f *Finisher) Close() {
	f.stop()
	for _, o := range []interface{ shut() }{f.proofs, f.letters, f.entries, f.plans, f.lineups} {
		o.shut()
	}
	f.wg.Wait()
}

// Proof is the proof of a job's repair, planned or judged.
type Proof struct {
	*aftercare.Answer
	// Chart is before and after; nil where nothing was logged.
	Chart *chart.Plot `json:"-"`
}

// Proof waits for the proof of a job.
func (f *Finisher) Proof(ctx context.Context, s Subject) (*Proof, error) {
	return f.proof(s).wait(ctx)
}

// ProofNow gives the proof that is at hand, or begins it and says false.
func (f *Finisher) ProofNow(s Subject) (*Proof, bool, error) {
	r := f.proof(s)
	if !r.ready() {
		return nil, false, nil
	}
	return r.out, true, r.err
}

func (f *Finisher) proof(s Subject) *run[*Proof] {
	return f.proofs.begin(&f.wg, s.carKey()+strings.Join(s.Repairs, " "), func(ctx context.Context) (*Proof, error) {
		b, err := f.read(ctx, s)
		if err != nil {
			return nil, err
		}
		parted := aftercare.Part(b.work, b.job)
		st, err := proof.DefaultCriteria()
		if err != nil {
			return nil, err
		}
		a, err := aftercare.For(ctx, parted, aftercare.Ask{
			Settings: st, Units: s.Units, Seed: f.cfg.Seed, Repairs: s.Repairs, Weigh: f.weigher(s),
		})
		if err != nil {
			return nil, err
		}
		return &Proof{a, aftercare.Picture(aftercare.LogBefore(b.work, parted), a.Bands, s.Units)}, nil
	})
}

// Letter waits for the owner's letter of a job.
func (f *Finisher) Letter(ctx context.Context, s Subject) (*letter.Letter, error) {
	return f.letter(s).wait(ctx)
}

// LetterNow gives the letter that is at hand, or begins it and says false.
func (f *Finisher) LetterNow(s Subject) (*letter.Letter, bool, error) {
	r := f.letter(s)
	if !r.ready() {
		return nil, false, nil
	}
	return r.out, true, r.err
}

func (f *Finisher) letter(s Subject) *run[*letter.Letter] {
	return f.letters.begin(&f.wg, s.key(), func(ctx context.Context) (*letter.Letter, error) {
		b, err := f.read(ctx, s)
		if err != nil {
			return nil, err
		}
		return letter.Compose(ctx, letter.Order{
			Job: b.job, Work: b.work, Model: f.cfg.Model, Units: s.Units, Currency: Currency(b.job), Seed: f.cfg.Seed, Weigh: f.weigher(s),
		})
	})
}

// Entry waits for what a closed job teaches, under the name that the tally is to
// know it by. It fails as tally.Closed does where the job must not teach.
func (f *Finisher) Entry(ctx context.Context, s Subject, name string) (tally.Entry, error) {
	return f.entries.begin(&f.wg, name+s.key(), func(ctx context.Context) (tally.Entry, error) {
		b, err := f.read(ctx, s)
		if err != nil {
			return tally.Entry{}, err
		}
		b.job.Name = name
		return aftercare.Entry(ctx, b.work, b.job, f.cfg.Seed, f.weigher(s))
	}).wait(ctx)
}

// Sheets makes the sheets of the subject's repairs, or of those done last.
func (f *Finisher) Sheets(ctx context.Context, s Subject) ([]*sheetwork.Sheet, error) {
	b, err := f.read(ctx, s)
	if err != nil {
		return nil, err
	}
	ids := s.Repairs
	if len(ids) == 0 {
		ids = aftercare.Part(b.work, b.job).Repairs
	}
	d, err := sheetwork.DefaultData()
	if err != nil {
		return nil, err
	}
	v := b.work.Case.Vehicle
	car := sheetwork.Car{Vehicle: v, Typical: f.cfg.Model.Table.Typical(v), AltitudeM: b.work.Case.Shop.AltitudeM}
	out := []*sheetwork.Sheet{}
	for _, id := range ids {
		r := f.cfg.Model.Causes.Repair(id)
		if r == nil {
			continue // its caller has looked it up
		}
		sheet, err := sheetwork.For(d, f.cfg.Model.Causes, r, car, b.job)
		if err != nil {
			return nil, err
		}
		out = append(out, sheet)
	}
	return out, nil
}

// Done are the repairs done last in a job file, in order, and the currency in
// which its shop counts.
func (f *Finisher) Done(ctx context.Context, s Subject) (repairs []string, currency string, err error) {
	b, err := f.read(ctx, s)
	if err != nil {
		return nil, "", err
	}
	return aftercare.Part(b.work, b.job).Repairs, Currency(b.job), nil
}

// Closing is what a job file says of its end.
func (f *Finisher) Closing(s Subject) (job.Closing, error) {
	j, err := job.Read(bytes.NewReader(s.Document), "", casework.Vocabulary(f.cfg.Model))
	if err != nil {
		return job.Closing{}, err
	}
	return j.Closing, nil
}

// Currency is the one in which the job's shop counts.
func Currency(j *job.Job) string {
	if j.Shop.Rate.Known() && j.Shop.Rate.Value.Currency != "" {
		return j.Shop.Rate.Value.Currency
	}
	return "USD"
}

// bench is a job read.
type bench struct {
	job  *job.Job
	work *casework.Casework
}

func (f *Finisher) read(ctx context.Context, s Subject) (*bench, error) {
	j, err := job.Read(bytes.NewReader(s.Document), "", casework.Vocabulary(f.cfg.Model))
	if err != nil {
		return nil, err
	}
	work, err := casework.Prepare(ctx, f.cfg.Model, j, s.Open)
	if err != nil {
		return nil, err
	}
	return &bench{j, work}, nil
}

// weigh makes the lineup of a case.
func (f *Finisher) weigh(ctx context.Context, cs lineup.Case) (*lineup.Lineup, error) {
	return lineup.New(ctx, f.cfg.Model, cs, lineup.Options{Candidates: f.cfg.Candidates, Seed: f.cfg.Seed, Workers: f.cfg.Workers})
}

// weigher makes the lineup of the subject as it stood before its repair: once,
// though proof, letter and tally all ask for it.
func (f *Finisher) weigher(s Subject) func(context.Context, lineup.Case) (*lineup.Lineup, error) {
	return func(ctx context.Context, cs lineup.Case) (*lineup.Lineup, error) {
		return f.lineups.begin(&f.wg, "before "+s.carKey(), func(ctx context.Context) (*lineup.Lineup, error) { return f.weigh(ctx, cs) }).wait(ctx)
	}
}

// key names the subject: the same job file gives the same answer.
func (s *Subject) key() string {
	return hash(s.Document, strings.Join(s.Repairs, " "))
}

// carKey names as much of the subject as the engines depend on: what is written
// down at closing changes none of them.
func (s *Subject) carKey() string {
	var doc map[string]json.RawMessage
	if json.Unmarshal(s.Document, &doc) != nil {
		return hash(s.Document)
	}
	delete(doc, "closing")
	delete(doc, "job")
	rest, err := json.Marshal(doc)
	if err != nil {
		return hash(s.Document)
	}
	return hash(rest)
}

func hash(document json.RawMessage, more ...string) string {
	h := sha256.New()
	h.Write(document)
	for _, text := range more {
		h.Write([]byte("\x00" + text))
	}
	return hex.EncodeToString(h.Sum(nil))
}
