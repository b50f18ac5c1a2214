package web_test

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"net/http"
	"strings"
	"testing"

	"weephole/internal/store"
	"weephole/internal/web"
)

// archived puts a closed job straight into a store.
func archived(t *testing.T, s store.Store, id, cause, charged string, more ...store.Entry) {
	t.Helper()
	head := strings.Replace(hotCar, `"complaint"`, fmt.Sprintf(`"closing":{"cause":%q,"charged":%q},"complaint"`, cause, charged), 1)
	entries := []store.Entry{
		{Job: id, Seq: 1, ID: "o", Who: "Ada", Kind: store.Opened, Body: json.RawMessage(head)},
		{Job: id, Seq: 2, ID: "f", Who: "Ada", Kind: store.Found, Body: json.RawMessage(`{"repair":"replace-fan","changed":"cured","minutes":"90 min"}`)},
		{Job: id, Seq: 3, ID: "a", Who: "Ada", Kind: store.Archived, Body: json.RawMessage(`{}`)},
	}
	for i := range more {
		more[i].Job, more[i].Seq = id, int64(4+i)
	}
	if _, err := s.Take(t.Context(), id, append(entries, more...), nil, nil); err != nil {
		t.Fatal(err)
	}
}

func TestClosedJobsAreAddedUpByMonthAndCause(t *testing.T) {
	l := lay(t)
	archived(t, l.keeper, "j1", "fan-dead", "$400")
	archived(t, l.keeper, "j2", "fan-dead", "$500", store.Entry{ID: "r", Kind: store.Reopened}, store.Entry{ID: "a2", Kind: store.Archived})
	archived(t, l.keeper, "j3", "combustion-leak", "$2,000")
	archived(t, l.keeper, "j4", "unknown", "unknown")
	var got web.ResultsReply
	l.must("GET", "/api/results", nil, &got)
	by := map[string]web.ResultRow{}
	for _, r := range got.Rows {
		by[r.Cause+r.Currency] = r
	}
	fan := by["fan-deadUSD"]
	if fan.Jobs != 2 || fan.Minutes != 90 || fan.Quoted != 2 || fan.Refuted != 2 || fan.Saved != 3900 || fan.Comebacks != 1 {
		t.Errorf("fans: %+v; quotes of 2,400 twice, 400 and 500 charged", fan)
	}
	if g := by["combustion-leak"]; g.Jobs != 1 || g.Quoted != 1 || g.Refuted != 0 || g.Saved != 0 {
		t.Errorf("the quote that was right: %+v", g)
	}
	if u := by[""]; u.Jobs != 1 || u.Refuted != 0 {
		t.Errorf("the cause that is not known: %+v", u)
	}
	if page := l.page("/results"); !strings.Contains(page, "3900 USD") || !strings.Contains(page, "not written down") {
		t.Error("the page lacks a row")
	}
	archived(t, l.keeper, "j5", "fan-dead", "$400") // what was kept in memory grows
	l.must("GET", "/api/results", nil, &got)
	jobs := 0
	for _, r := range got.Rows {
		jobs += r.Jobs
	}
	if jobs != 5 {
		t.Errorf("%d jobs after a fifth", jobs)
	}
	res, err := l.client.Get(l.server.URL + "/api/results.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	rows, err := csv.NewReader(res.Body).ReadAll()
	if err != nil || len(rows) != 1+len(got.Rows) || res.StatusCode != http.StatusOK {
		t.Errorf("the table has %d rows, %v", len(rows), err)
	}
}

func TestNoCellOfATableIsAFormula(t *testing.T) {
	for text, want := range map[string]string{
		"fan": "fan", "=1+1": "'=1+1", "+1": "'+1", "-1": "'-1", "@x": "'@x", "\t=1": "'\t=1", " =1": "' =1", "\ufeff=1": "'\ufeff=1",
		"＝1": "'＝1", "|calc": "'|calc", "": "", "a=1": "a=1",
	} {
		if got := web.Cell(text); got != want {
			t.Errorf("%q becomes %q, want %q", text, got, want)
		}
	}
}

func TestASmallShopBorrowsFromTheGroupUnlessItStaysOut(t *testing.T) {
	l, k, nora, sam := twoShops(t)
	_ = l
	mixed := []string{"fan-dead", "fan-dead", "fan-dead", "fan-dead", "fan-dead", "cap-weak", "cap-weak", "thermostat-shut", "thermostat-shut", "radiator-clogged"}
	for shop, jobs := range map[string]int{"main": 20, "north": 40, "south": 1} {
		in, err := k.InShop(t.Context(), shop)
		if err != nil {
			t.Fatal(err)
		}
		var lines []json.RawMessage
		for i := range jobs {
			cause := mixed[i%len(mixed)]
			if shop == "south" {
				cause = "cap-weak"
			}
			lines = append(lines, json.RawMessage(fmt.Sprintf(`{"tally":1,"job":"umbrageous %d","causes":[%q]}`, i, cause)))
		}
		if err := in.AddTallyLines(t.Context(), 0, lines...); err != nil {
			t.Fatal(err)
		}
	}
	share := func(v *visitor) (fan, start float64, got web.GroupTallyReply) {
		v.gives("GET", "/api/tally/group", nil, &got)
		m, err := knowledge()
		if err != nil {
			t.Fatal(err)
		}
		for _, row := range got.Rows {
			if row.Cause == "fan-dead" {
				fan = row.Share
			}
		}
		return fan, m.Causes.Cause("fan-dead").Prior() / m.Causes.TotalWeight(), got
	}
	fan, start, got := share(sam)
	if !got.In || got.Shops != 3 || got.Jobs != 61 || fan < 1.5*start {
		t.Errorf("south, which has seen no dead fan, expects %.3f of them (the catalogue %.3f): %+v", fan, start, got)
	}
	if fan, _, _ := share(nora); fan < 0.35 || fan > 0.5 {
		t.Errorf("north, with 20 dead fans in 40 jobs, expects %.3f", fan)
	}
	if _, text := sam.do("GET", "/api/tally/group.yaml", nil); !strings.Contains(text, "cause: cap-weak, closed: 1") || leaked.MatchString(text) {
		t.Errorf("the sheet: %s", text)
	}
	_, page := nora.do("GET", "/tally", nil)
	if !strings.Contains(page, "With the other shops") {
		t.Error("the page of the tally says nothing of the group")
	}
	var set web.ShopInput
	nora.gives("GET", "/api/settings", nil, &set)
	set.Pool = "no"
	nora.gives("PUT", "/api/settings", set, nil)
	got = web.GroupTallyReply{}
	nora.gives("GET", "/api/tally/group", nil, &got)
	if got.In || got.Jobs != 21 {
		t.Errorf("north stays out: %+v", got)
	}
}
