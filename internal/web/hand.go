package web

import (
	"encoding/json"
	"errors"
	"net/http"

	"weephole/internal/store"
)

func (ap *shopsAPI) handJob(_ http.ResponseWriter, r *http.Request) (any, error) {
	var to ToShop
	if err := decode(r, &to); err != nil {
		return nil, err
	}
	return done, ap.hand(r, to.Shop)
}

// hand gives a job to another shop: the whole of it is kept there first, then it is
// put into the archive here. Broken off in between it can be done again; what is
// there already is not kept twice.
func (ap *shopsAPI) hand(r *http.Request, shop string) error {
	ctx, id := r.Context(), r.PathValue("id")
	all, err := ap.house.shops(ctx)
	if err != nil {
		return err
	}
	var to, from store.Shop
	for _, s := range all {
		if s.ID == shop {
			to = s
		}
		if s.ID == ap.ofShop() {
			from = s
		}
	}
	if to.ID == "" || to.ID == from.ID {
		return wrong(http.StatusUnprocessableEntity, "%q is no other shop of this store", clip(shop, 40))
	}
	entries, err := ap.store.Entries(ctx, id, 0)
	if err != nil {
		return err
	}
	files, err := ap.store.Files(ctx, id)
	if err != nil {
		return err
	}
	there, err := ap.house.room(ctx, to.ID)
	if err != nil {
		return err
	}
	last := entries[len(entries)-1].ID
	tell := func(word, text string) store.Entry {
		body := mustJSON(Remark{Text: text})
		return store.Entry{Job: id, ID: store.PlainID(word + "-" + to.ID + "-" + last), Who: who(r), Kind: store.Noted, Body: body}
	}
	came := append(entries[:len(entries):len(entries)], tell("came", "Handed over by "+named(from)+"."))
	_, err = there.jobs.store.Take(ctx, id, came, files, func(i int) ([]byte, error) {
		_, content, err := ap.store.File(ctx, id, files[i].Name)
		return content, err
	})
	if errors.Is(err, store.ErrTaken) {
		return wrong(http.StatusConflict, "%s has another job under this job’s id; export it and take it in there under another name.", named(to))
	}
	if err != nil {
		return err
	}
	there.jobs.live.publish(id, event{Name: "entry", Seq: int64(len(came)), Who: who(r)})
	there.jobs.evaluateSoon(id)
	gone := tell("handed", "Handed to "+named(to)+", with its whole history.")
	archived := gone
	archived.ID, archived.Kind, archived.Body = store.PlainID("put-away-"+to.ID+"-"+last), store.Archived, json.RawMessage("{}")
	for _, e := range []store.Entry{gone, archived} {
		if _, err := ap.keep(r, e); err != nil {
			return err
		}
	}
	ap.cfg.Log.Info("job handed over", "by", who(r), "job", id, "from", from.ID, "to", to.ID)
	return nil
}
