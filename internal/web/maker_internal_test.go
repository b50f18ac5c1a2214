package web

import (
	"encoding/json"
	"testing"

	"weephole/internal/work"
)

// Older jobs hold what was looked up by its name; the bench writes its id.
func TestWhatTheMakerSaysReplacesWhatStoodForItByIDOrName(t *testing.T) {
	sheets, err := work.DefaultSheetData()
	if err != nil {
		t.Fatal(err)
	}
	list := []any{object{"what": "Places of the bleed screws", "says": "one"}, object{"what": "a name of our own", "says": "yes"}}
	for _, in := range []MakerDatumInput{
		{What: "bleed-screws", Says: "two"}, {What: "places of the bleed screws", Says: "three", From: "manual"},
		{What: "a name of our own", Says: ""},
	} {
		list = withDatum(sheets, list, in)
	}
	got, err := json.Marshal(list)
	if err != nil {
		t.Fatal(err)
	}
	if want := `[{"from":"manual","says":"three","what":"bleed-screws"}]`; string(got) != want {
		t.Errorf("kept %s, want %s", got, want)
	}
}
