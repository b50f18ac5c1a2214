package sheet_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"weephole/sheet"
)

// kitchen is a small sheet with one field of each kind that can be read.
type kitchen struct {
	At     sheet.At   `sheet:",at"`
	Title  string     `sheet:"title,required"`
	Guests float64    `sheet:"guests"`
	Hot    bool       `sheet:"hot"`
	Limit  *float64   `sheet:"limit"`
	Shape  [2]float64 `sheet:"shape"`
	Dishes []dish     `sheet:"dishes"`
	Notes  []string   `sheet:"notes"`
}

type dish struct {
	At     sheet.At        `sheet:",at"`
	ID     string          `sheet:"id,required"`
	Salt   sheet.Numbers   `sheet:"salt"`
	For    sheet.Words     `sheet:"for"`
	Odds   sheet.Pairs     `sheet:"odds"`
	Price  price           `sheet:"price"`
	Extras sheet.RestWords `sheet:",rest"`
}

type price struct {
	Value  float64 `sheet:"value,required"`
	Source string  `sheet:"source,required"`
}

func TestTheKeysOfASheetStandInItsOrder(t *testing.T) {
	if got, want := sheet.Keys(dish{}), []string{"id", "salt", "for", "odds", "price"}; !slices.Equal(got, want) {
		t.Errorf("keys %q, want %q", got, want)
	}
}

func read(t *testing.T, text string) (kitchen, error) {
	t.Helper()
	var k kitchen
	err := sheet.Read(sheet.Source{Name: "kitchen.yaml", Data: []byte(text)}, &k).Err()
	return k, err
}

func TestAReadSheetHoldsWhatIsWritten(t *testing.T) {
	got, err := read(t, `
title: >
  Sunday
  lunch
guests: 12
hot: true
limit: 1.5e3
shape: [1, 2.5]
notes: [one, "2"]
dishes:
  - id: soup
    salt: 0.5
    for: [adults, children]
    odds: {good: [0.1, 0.9], bad: 0.5}
    price: {value: 3, source: menu}
    served: hot
`)
	if err != nil {
		t.Fatal(err)
	}
	limit := 1500.0
	at := func(line int, path string) sheet.At { return sheet.At{File: "kitchen.yaml", Line: line, Path: path} }
	want := kitchen{
		At: at(2, ""), Title: "Sunday lunch", Guests: 12, Hot: true, Limit: &limit, Shape: [2]float64{1, 2.5},
		Notes: []string{"one", "2"},
		Dishes: []dish{{
			At: at(11, "dishes[0]"), ID: "soup", Salt: sheet.Numbers{0.5}, For: sheet.Words{"adults", "children"},
			Odds: sheet.Pairs{
				{At: at(14, "dishes[0].odds"), Key: "good", Value: sheet.Numbers{0.1, 0.9}},
				{At: at(14, "dishes[0].odds"), Key: "bad", Value: sheet.Numbers{0.5}},
			},
			Price:  price{3, "menu"},
			Extras: sheet.RestWords{{At: at(16, "dishes[0]"), Key: "served", Word: "hot"}},
		}},
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got)\n%s", diff)
	}
}

func TestAllMistakesAreReportedWithTheirLines(t *testing.T) {
	_, err := read(t, `
titel: lunch
guests: many
hot: 1
shape: [1]
dishes:
  - salt: [0.5, much]
    odds: 3
  - soup
`)
	if err == nil {
		t.Fatal("accepted")
	}
	want := strings.TrimSpace(`
kitchen.yaml:2: titel: unknown key; did you mean "title"?
kitchen.yaml:3: guests: found "many"; write a number
kitchen.yaml:4: hot: found "1"; write true or false
kitchen.yaml:5: shape: found a list of 1; write a list of 2 numbers
kitchen.yaml:7: dishes[0].salt[1]: found "much"; write a number
kitchen.yaml:8: dishes[0].odds: found "3"; write a list of "word: number"
kitchen.yaml:7: dishes[0]: "id" is missing
kitchen.yaml:9: dishes[1]: found "soup"; write a list of "key: value"
kitchen.yaml:2: "title" is missing
`)
	if diff := cmp.Diff(want, err.Error()); diff != "" {
		t.Errorf("(-want +got)\n%s", diff)
	}
}

func TestASecondSheetChangesOnlyWhatItNames(t *testing.T) {
	k, err := read(t, "title: lunch\nguests: 4\ndishes: [{id: soup, salt: 1}, {id: fish, salt: 2}]\n")
	if err != nil {
		t.Fatal(err)
	}
	before := k.Dishes
	over := sheet.Source{Name: "over.yaml", Data: []byte("guests: 5\ndishes: [{id: fish, for: cats}, {id: cake}]\n")}
	if err := sheet.Read(over, &k).Err(); err != nil {
		t.Fatal(err)
	}
	if k.Title != "lunch" || k.Guests != 5 || len(k.Dishes) != 3 {
		t.Errorf("got %+v", k)
	}
	if fish := k.Dishes[1]; fish.Salt[0] != 2 || fish.For[0] != "cats" || fish.At.File != "over.yaml" {
		t.Errorf("fish became %+v", fish)
	}
	if len(before) != 2 || before[1].For != nil {
		t.Errorf("the first reading was changed: %+v", before)
	}
}

func TestManyMistakesAreCountedAfterAScreenful(t *testing.T) {
	_, err := read(t, "title: lunch\nnotes: ["+strings.Repeat("1, ", 50)+"1]\n")
	lines := strings.Split(err.Error(), "\n")
	if len(lines) != 21 || lines[20] != "and 31 more" {
		t.Errorf("%d lines, the last %q", len(lines), lines[len(lines)-1])
	}
}

func FuzzRead(f *testing.F) {
	for _, text := range []string{
		"title: lunch\n", "title: [a, b\n", "a: &x 1\nb: *x\n", "---\n---\n", "? a\n: b\n", "title: |\n  x\n",
		"dishes:\n  - {id: soup, odds: {a: [1, 2]}}\n", "shape: [1, .inf]\n", "<<: {title: x}\n", "guests: 0x1F\n",
		"dishes: [[[[[[[[[[[[]]]]]]]]]]]]\n", "title: !!str 3\n", "\xff\xfe", "- a\n- b\n", "title: 'it''s'\nguests: -.5e-3\n",
	} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		var k kitchen
		err := sheet.Read(sheet.Source{Name: "fuzz.yaml", Data: []byte(text)}, &k).Err()
		if err == nil && k.Title == "" && !strings.Contains(text, "title") {
			t.Fatal("accepted without a title")
		}
		if err != nil && err.Error() == "" {
			t.Fatal("an error without words")
		}
	})
}
