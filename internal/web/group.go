package web

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"net/http"
	"sort"
	"time"

	"weephole/internal/store"
	"weephole/internal/tally"
)

// staysOut is what a shop's settings say when its counts are not to be pooled.
const staysOut = "no"

// GroupTallyReply is what the shops of a store have learned together. It has counts
// of causes and nothing of any customer.
type GroupTallyReply struct {
	Shops int             `json:"shops"` // that take part
	Jobs  int             `json:"jobs"`  // that they have counted
	In    bool            `json:"in"`    // this shop takes part
	Alike float64         `json:"alike"` // a shop with so many jobs trusts its own as much as the group
	Rows  []GroupCauseRow `json:"rows"`
}

// GroupCauseRow is one cause.
type GroupCauseRow struct {
	Cause    string  `json:"cause"`
	Name     string  `json:"name"`
	Own      float64 `json:"own"`      // this shop's closed jobs
	Share    float64 `json:"share"`    // of this shop's next job, pooled
	Group    float64 `json:"group"`    // of a job in a shop that has not been seen
	Borrowed float64 `json:"borrowed"` // jobs that a sheet for this shop counts
}

// poolKept is how long the shops' counts are kept before they are read again:
// judgement, the tally changes a few times a day.
const poolKept = 10 * time.Minute

// countsOf are the counts of closed jobs of every shop that takes part, by cause.
func (h *house) countsOf(ctx context.Context) (map[string]map[string]int, error) {
	h.pooling.Lock()
	defer h.pooling.Unlock()
	if h.pooled != nil && time.Since(h.pooledAt) < poolKept {
		return h.pooled, nil
	}
	all, err := h.shops(ctx)
	if err != nil {
		return nil, err
	}
	out := map[string]map[string]int{}
	for _, s := range all {
		in, err := h.group.In(ctx, s.ID)
		if err != nil {
			return nil, err
		}
		record := shopRecord{store: in}
		set, err := record.settings(ctx)
		if err != nil {
			return nil, err
		}
		if set.Pool == staysOut {
			continue
		}
		lines, err := in.TallyLines(ctx)
		if err != nil {
			return nil, err
		}
		t, err := tally.Read(bytes.NewReader(bytes.Join(rawLines(lines), []byte("\n"))), "the tally of "+s.ID)
		if err != nil {
			return nil, err
		}
		out[s.ID] = map[string]int{}
		for _, c := range t.Counts() {
			out[s.ID][c.Cause] = c.Closed
		}
	}
	h.pooled, h.pooledAt = out, time.Now()
	return out, nil
}

func rawLines[T ~[]byte](lines []T) (out [][]byte) {
	for _, l := range lines {
		out = append(out, l)
	}
	return out
}

// shopsAPI is about the shops that share a store: their results, their common tally, a
// job handed over.
type shopsAPI struct {
	*jobs
	house *house
}

func (ap *shopsAPI) routes() []route {
	return []route{
		{method: "GET", path: "/api/results", name: "getResults", about: "What the closed jobs came to, by month and cause: jobs, minutes, quotes refuted and what that saved, comebacks. Of an owner's shops all, otherwise of this one.", out: ResultsReply{}, status: 200, do: ap.getResults},
		{method: "GET", path: "/api/results.csv", name: "getResultsTable", about: "The same as a table; no cell of it is run as a formula.", gives: "text/csv", status: 200, do: ap.getResultsCSV},
		{method: "GET", path: "/api/tally/group", name: "getGroupTally", about: "What the shops of the store have learned together, pooled in part; counts of causes only.", out: GroupTallyReply{}, status: 200, do: ap.getGroupTally},
		{method: "GET", path: "/api/tally/group.yaml", name: "getGroupSheet", about: "The same as a sheet for --overlay.", gives: "application/yaml", status: 200, do: ap.getGroupSheet},
		{method: "GET", path: "/api/shops", name: "listShops", about: "The shops that share the store; none where there is one.", out: []store.Shop{}, status: 200, do: ap.listShops},
		{method: "POST", path: "/api/jobs/{id}/hand", name: "handJob", about: "Hands the job to another shop with its whole history; here it goes into the archive.", in: ToShop{}, out: Done{}, status: 200, do: ap.handJob},
	}
}

func (ap *shopsAPI) getGroupTally(_ http.ResponseWriter, r *http.Request) (any, error) {
	return ap.groupTally(r.Context())
}

// groupTally pools the counts of the shops that take part.
func (ap *shopsAPI) groupTally(ctx context.Context) (*GroupTallyReply, error) {
	counts, err := ap.house.countsOf(ctx)
	if err != nil {
		return nil, err
	}
	causes := ap.cfg.Model.Causes.Causes
	names, start := make([]string, len(causes)), make([]float64, len(causes))
	for i := range causes {
		names[i], start[i] = causes[i].ID, causes[i].Prior()/ap.cfg.Model.Causes.TotalWeight()
	}
	var ids []string
	for id := range counts {
		ids = append(ids, id)
	}
	sort.Strings(ids)
	out, here := &GroupTallyReply{Shops: len(ids), Rows: []GroupCauseRow{}}, -1
	var shops [][]float64
	for i, id := range ids {
		n := make([]float64, len(causes))
		for c := range causes {
			n[c] = float64(counts[id][causes[c].ID])
			out.Jobs += counts[id][causes[c].ID]
		}
		shops = append(shops, n)
		if id == ap.ofShop() {
			here = i
		}
	}
	if here < 0 {
		return out, nil
	}
	out.In = true
	rules := tally.DefaultPoolRules()
	p := tally.Pool(names, shops, start, rules)
	out.Alike = p.Alike
	own := &p.Shops[here]
	borrowed := own.Borrowed(start, rules)
	for c := range causes {
		out.Rows = append(out.Rows, GroupCauseRow{causes[c].ID, causes[c].Name, own.Counts[c], own.Shares[c], p.Group[c], borrowed[c]})
	}
	sort.SliceStable(out.Rows, func(i, j int) bool { return out.Rows[i].Share > out.Rows[j].Share })
	return out, nil
}

// getGroupSheet writes what the shop has from the group as a sheet of its own, for
// --overlay. Counts are whole jobs there.
func (ap *shopsAPI) getGroupSheet(w http.ResponseWriter, r *http.Request) (any, error) {
	g, err := ap.groupTally(r.Context())
	if err != nil {
		return nil, err
	}
	var out bytes.Buffer
	fmt.Fprintf(&out, "# What %d closed jobs of %d shops have taught this one; counts are pooled in part.\n", g.Jobs, g.Shops)
	rows := 0
	for _, row := range g.Rows {
		if n := int(math.Round(row.Borrowed)); n > 0 {
			if rows++; rows == 1 {
				out.WriteString("counts:\n")
			}
			fmt.Fprintf(&out, "  - {cause: %s, closed: %d}\n", row.Cause, n)
		}
	}
	if rows == 0 {
		out.WriteString("counts: []\n")
	}
	w.Header().Set("Content-Type", "application/yaml")
	w.Header().Set("Content-Disposition", `attachment; filename="weephole-group.yaml"`)
	_, _ = w.Write(out.Bytes()) // the device has gone away
	return nil, nil
}

// shopsOf are the shops whose work somebody may see as a whole: those that he owns,
// this one otherwise.
func (ap *shopsAPI) shopsOf(r *http.Request) ([]store.Shop, error) {
	id := identityOf(r)
	mine := []store.Shop{{ID: ap.ofShop()}}
	if id.Person == "" || !id.Group {
		return mine, nil
	}
	list, err := ap.store.Shops(r.Context(), id.Person)
	if err != nil {
		return nil, err
	}
	for _, m := range list {
		if m.Role == store.Owner && m.Shop.ID != ap.ofShop() {
			mine = append(mine, m.Shop)
		}
	}
	return mine, nil
}
