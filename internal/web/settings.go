package web

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"

	"weephole/internal/job"
	"weephole/internal/store"
	"weephole/quantity"
)

// shopKey is where the shop's settings are kept.
const shopKey = "shop"

// ShopInput is the shop's settings, in the words of a job file's "shop".
type ShopInput struct {
	Name     string   `json:"name,omitempty"`
	Rate     string   `json:"rate,omitempty"`  // "$120/h"
	Units    string   `json:"units,omitempty"` // "us" or "metric"
	Altitude string   `json:"altitude,omitempty"`
	Ambient  string   `json:"ambient,omitempty"`
	Coldest  string   `json:"coldest,omitempty"` // the coldest night that the coolant must stand
	Tools    []string `json:"tools,omitempty"`
	Lacks    []string `json:"lacks,omitempty"`
	// Photos "whole" keeps what cameras write into pictures: the place, the time.
	Photos string `json:"photos,omitempty"`
	// Pool "no" keeps the shop's counts of causes out of the group's.
	Pool string `json:"pool,omitempty"`
}

const wholePhotos = "whole"

// SettingsChange is new settings, and those that their author had before him.
type SettingsChange struct {
	ShopInput
	// Over makes the change one of those settings: what others changed since is kept, and
	// what both have changed is refused and told. Without it the new ones hold, whatever
	// stands.
	Over *ShopInput `json:"over,omitempty"`
}

// keptSettings is the settings as they are kept.
type keptSettings struct {
	ShopInput
	By string `json:"by,omitempty"` // who set them last
}

// ofJob is what a job file's "shop" can say of the settings.
func (s ShopInput) ofJob() ShopInput {
	s.Photos, s.Pool = "", ""
	return s
}

// settings reads the shop's settings; a new shop has none.
func (sh *shopRecord) settings(ctx context.Context) (*ShopInput, error) {
	kept, _, err := sh.kept(ctx)
	if err != nil {
		return nil, err
	}
	return &kept.ShopInput, nil
}

// kept reads the settings with who set them, and the text that stands for them.
func (sh *shopRecord) kept(ctx context.Context) (keptSettings, string, error) {
	var k keptSettings
	text, err := sh.store.Setting(ctx, shopKey)
	if absent(err) || err == nil && text == "" {
		return k, "", nil
	}
	if err != nil {
		return k, "", err
	}
	if err := json.Unmarshal([]byte(text), &k); err != nil {
		return k, text, fmt.Errorf("settings: %w", err)
	}
	return k, text, nil
}

// inUnits gives bare numbers the units that are set with them. A bare rate takes the
// currency of the rate before; without one it stays as it is, and is asked about.
func (s *ShopInput) inUnits(before *job.Shop) {
	unit := &job.Shop{Units: s.Units}
	for _, of := range []struct {
		text  *string
		units [2]string
	}{{&s.Altitude, [2]string{"m", "ft"}}, {&s.Ambient, [2]string{"°C", "°F"}}, {&s.Coldest, [2]string{"°C", "°F"}}} {
		f := field{units: of.units}
		*of.text = f.said(*of.text, unit)
	}
	if c := before.Rate.Value.Currency; before.Rate.Known() && c != "" && bareNumber.MatchString(s.Rate) {
		s.Rate += " " + c + "/h"
	}
}

// keepSettings checks the settings as a job file would and keeps them. It gives those
// that hold now; where somebody else was quicker, those with both sides' changes.
func (sh *shopRecord) keepSettings(ctx context.Context, c SettingsChange, by string) (out ShopInput, err error) {
	_, err = untilFirst(func() (_ any, err error) {
		out, err = sh.keepOver(ctx, c, by)
		return nil, err
	})
	return out, err
}

func (sh *shopRecord) keepOver(ctx context.Context, c SettingsChange, by string) (ShopInput, error) {
	stands, text, err := sh.kept(ctx)
	if err != nil {
		return c.ShopInput, err
	}
	before, err := sh.shop(ctx)
	if err != nil {
		return c.ShopInput, err
	}
	s := c.ShopInput
	s.inUnits(before)
	if c.Over != nil {
		if s, err = s.over(*c.Over, stands); err != nil {
			return s, err
		}
	}
	if s.Photos != "" && s.Photos != wholePhotos {
		return s, wrong(http.StatusUnprocessableEntity, "photos: %q; write %q, or nothing", s.Photos, wholePhotos)
	}
	if s.Pool != "" && s.Pool != staysOut {
		return s, wrong(http.StatusUnprocessableEntity, "pool: %q; write %q to stay out of the group's tally, or nothing", s.Pool, staysOut)
	}
	ofJob, err := json.Marshal(s.ofJob())
	if err != nil {
		return s, err
	}
	if _, err := job.ReadShop(ofJob, sh.words); err != nil {
		return s, err
	}
	if err := sh.store.SetOver(ctx, shopKey, text, string(mustJSON(keptSettings{s, by}))); err != nil {
		return s, err
	}
	if g, ok := sh.store.(store.Group); ok && s.Name != "" { // so that other shops know it by its name
		return s, g.NameShop(ctx, store.Shop{ID: sh.ofShop(), Name: s.Name})
	}
	return s, nil
}

// over puts the settings over those that stand, both made from the same base. What both
// have changed in different ways is told, and the settings given have our side of it.
func (s ShopInput) over(base ShopInput, stands keptSettings) (ShopInput, error) {
	var docs [3]object
	for i, one := range []ShopInput{base, s, stands.ShopInput} {
		var err error
		if docs[i], err = asObject(one); err != nil {
			return s, err
		}
	}
	var clashes []clash
	both, err := json.Marshal(merged3(docs[0], docs[1], docs[2], "shop", &clashes))
	if err != nil {
		return s, err
	}
	var out ShopInput
	if err := json.Unmarshal(both, &out); err != nil {
		return s, err
	}
	if len(clashes) > 0 {
		return out, &mistake{status: http.StatusConflict, message: clashesSay(clashes, stands.By), standing: mustJSON(stands.ShopInput)}
	}
	return out, nil
}

// shop is the settings as a job file reads them; what cannot be read is left out.
func (sh *shopRecord) shop(ctx context.Context) (*job.Shop, error) {
	set, err := sh.settings(ctx)
	if err != nil {
		return nil, err
	}
	raw, err := json.Marshal(set.ofJob())
	if err != nil {
		return nil, err
	}
	shop, err := job.ReadShop(raw, sh.words)
	if err != nil {
		return &job.Shop{Units: set.Units}, nil // from another version: only the units are sure
	}
	return shop, nil
}

// fill puts into a job file what it does not say of the shop itself.
func (s *ShopInput) fill(document json.RawMessage) (json.RawMessage, error) {
	defaults, err := json.Marshal(s.ofJob())
	if err != nil {
		return nil, err
	}
	var doc, shop map[string]json.RawMessage
	if err := errors.Join(json.Unmarshal(document, &doc), json.Unmarshal(defaults, &shop)); err != nil {
		return nil, err
	}
	if raw, ok := doc["shop"]; ok {
		if err := json.Unmarshal(raw, &shop); err != nil { // the job's own words win
			return nil, err
		}
	}
	if len(shop) > 0 {
		if doc["shop"], err = json.Marshal(shop); err != nil {
			return nil, err
		}
	}
	return json.Marshal(doc)
}

// currentJob is a job as it stands, and what it says: read once for a whole page.
type currentJob struct {
	*store.State
	Document json.RawMessage // the job file, the shop's settings filled in
	Head     *job.Job        // without findings; the zero job where it cannot be read
	Said     []*job.Finding  // by State.Findings; nil where one cannot be read
}

// units are those in which the shop is spoken to.
func (s *currentJob) units() quantity.Units { return s.Head.Shop.Speaks() }

// evidenceSeq is the Seq of the newest entry that the answer depends on: a remark, the
// wait for the cap or the archive change nothing in it.
func evidenceSeq(s *store.State) (seq int64) {
	for i := range s.Entries {
		if evidence(s.Entries[i].Kind) {
			seq = s.Entries[i].Seq
		}
	}
	return seq
}

// evidence tells whether the answer may depend on an entry of the kind.
func evidence(k store.Kind) bool {
	switch k {
	case store.Noted, store.Removed, store.Archived, store.Reopened:
		return false
	}
	return true
}

// current reads a job as it stands. What this version of the program cannot read
// is left out: the answer says what is wrong with it.
func (jn *journal) current(ctx context.Context, id string) (*currentJob, error) {
	s, err := jn.state(ctx, id)
	if err != nil {
		return nil, err
	}
	return jn.currentOf(ctx, s)
}

func (jn *journal) currentOf(ctx context.Context, s *store.State) (*currentJob, error) {
	set, err := jn.settings(ctx)
	if err != nil {
		return nil, err
	}
	document, err := s.Document()
	if err == nil {
		document, err = set.fill(document)
	}
	if err != nil {
		return nil, err
	}
	out := &currentJob{State: s, Document: document, Head: &job.Job{}, Said: make([]*job.Finding, len(s.Findings))}
	if head, err := set.fill(s.Head); err == nil {
		if j, err := job.Read(bytes.NewReader(head), "", jn.words); err == nil {
			out.Head = j
		}
	}
	for i := range s.Findings {
		if f, err := job.ReadFinding(s.Findings[i].Body, out.Head.Shop, jn.words); err == nil {
			out.Said[i] = f
		}
	}
	return out, nil
}
