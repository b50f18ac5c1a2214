package web

import (
	"context"
	"errors"
	"net/http"
	"slices"
	"strings"
	"sync"

	"weephole/internal/store"
)

// jobsOf lists the jobs that a request asks for: those of its shop or, where its person
// belongs to several and asks for that, those of all of them.
func (h *house) jobsOf(r *http.Request, here *shopRecord, q store.Query) ([]store.Summary, error) {
	shops, err := h.shopsOf(r)
	if err != nil || r.FormValue("shops") != "all" || len(shops) < 2 {
		list, err2 := here.store.Jobs(r.Context(), q)
		return list, errors.Join(err, err2)
	}
	return h.everywhere(r.Context(), shops, q)
}

// shopsOf are the shops that whoever asks belongs to; none for a device that came in with a
// passphrase, and where the store holds one shop.
func (h *house) shopsOf(r *http.Request) ([]store.Membership, error) {
	id := identityOf(r)
	if h.group == nil || !id.Group || id.Person == "" {
		return nil, nil
	}
	return h.cfg.Store.Shops(r.Context(), id.Person)
}

// shopsAtOnce is how many shops are asked for their jobs at once: judgement, a third of a
// bench's connections.
const shopsAtOnce = 4

// mostEverywhere is how far back a list of several shops goes: each of them has to be read
// so far. Judgement, a hundred pages.
const mostEverywhere = 100 * jobsOnPage

// everywhere lists the jobs of several shops, the last changed first. Each shop's store is
// asked by itself, so that none can show what is another's.
func (h *house) everywhere(ctx context.Context, shops []store.Membership, q store.Query) ([]store.Summary, error) {
	if q.From > mostEverywhere {
		return []store.Summary{}, nil
	}
	of := q
	of.From, of.Limit = 0, q.From+q.Limit
	found, wrong := make([][]store.Summary, len(shops)), make([]error, len(shops))
	places := make(chan struct{}, shopsAtOnce)
	var wg sync.WaitGroup
	for i, m := range shops {
		wg.Go(func() {
			places <- struct{}{}
			defer func() { <-places }()
			var in store.Store
			if in, wrong[i] = h.group.In(ctx, m.Shop.ID); wrong[i] == nil {
				found[i], wrong[i] = in.Jobs(ctx, of)
			}
			for j := range found[i] {
				found[i][j].Shop = m.Shop.ID
			}
		})
	}
	wg.Wait()
	if err := errors.Join(wrong...); err != nil {
		return nil, err
	}
	all := slices.Concat(found...)
	slices.SortStableFunc(all, func(a, b store.Summary) int {
		if c := b.Changed.Compare(a.Changed); c != 0 {
			return c
		}
		return strings.Compare(b.ID, a.ID)
	})
	all = all[min(q.From, len(all)):]
	return all[:min(q.Limit, len(all))], nil
}
