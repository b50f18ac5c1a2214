package web

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"

	"weephole/internal/store"
	"weephole/quantity"
)

// shopKey is where the shop's settings are kept.
const shopKey = "shop"

// Shop is the shop's settings, in the words of a job file's "shop".
type Shop struct {
	Name     string   `json:"name,omitempty"`
	Rate     string   `json:"rate,omitempty"`  // "$120/h"
	Units    string   `json:"units,omitempty"` // "us" or "metric"
	Altitude string   `json:"altitude,omitempty"`
	Ambient  string   `json:"ambient,omitempty"`
	Coldest  string   `json:"coldest,omitempty"` // the coldest night that the coolant must stand
	Tools    []string `json:"tools,omitempty"`
	Lacks    []string `json:"lacks,omitempty"`
}

// settings reads the shop's settings; a new shop has none.
func (js *jobs) settings(ctx context.Context) (*Shop, error) {
	text, err := js.store.Setting(ctx, shopKey)
	if errors.Is(err, store.ErrUnknown) {
		return &Shop{}, nil
	}
	if err != nil {
		return nil, err
	}
	var s Shop
	if err := json.Unmarshal([]byte(text), &s); err != nil {
		return nil, fmt.Errorf("settings: %w", err)
	}
	return &s, nil
}

// keepSettings checks the settings as a job file would and keeps them.
func (js *jobs) keepSettings(ctx context.Context, s *Shop) error {
	body, err := json.Marshal(s)
	if err != nil {
		return err
	}
	document, err := json.Marshal(map[string]json.RawMessage{"weephole": json.RawMessage("1"), "shop": body})
	if err != nil {
		return err
	}
	if _, err := js.read(document); err != nil {
		return err
	}
	return js.store.Set(ctx, shopKey, string(body))
}

// document is a job's file as it stands, with what the job does not say of the
// shop filled in from the settings.
func (js *jobs) document(ctx context.Context, s *store.State) (json.RawMessage, error) {
	document, err := s.Document()
	if err != nil {
		return nil, err
	}
	set, err := js.settings(ctx)
	if err != nil {
		return nil, err
	}
	return set.fill(document)
}

func (s *Shop) fill(document json.RawMessage) (json.RawMessage, error) {
	defaults, err := json.Marshal(s)
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

// units are those of the document, which has the settings filled in.
func (s *Shop) units(document json.RawMessage) quantity.Units {
	var doc struct{ Shop struct{ Units string } }
	_ = json.Unmarshal(document, &doc) // it was made by us; without a word it is metric
	u, err := quantity.ParseUnits(doc.Shop.Units)
	if err != nil {
		return quantity.Metric()
	}
	return u
}
