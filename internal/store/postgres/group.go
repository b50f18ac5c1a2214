package postgres

import (
	"context"
	"fmt"
	"regexp"
	"time"

	"github.com/jackc/pgx/v5"

	"weephole/internal/store"
	"weephole/internal/store/sqlstore"
)

// shopKey is under which a context says the shop that its statements are about.
type shopKey struct{}

func bound(ctx context.Context, shop string) context.Context {
	return context.WithValue(ctx, shopKey{}, shop)
}

// said is under which a connection remembers the shop that it has told the server.
const said = "weephole.shop"

// say tells the server which shop a connection is used for, before it is used. A
// context that says none leaves the connection without one, so that it sees no
// shop's rows. It costs a turn to the server only where the shop changes.
func say(ctx context.Context, c *pgx.Conn) (bool, error) {
	shop, _ := ctx.Value(shopKey{}).(string)
	known := c.PgConn().CustomData()
	if before, _ := known[said].(string); before == shop {
		return true, nil
	}
	if _, err := c.Exec(ctx, "SELECT set_config('weephole.shop', $1, false)", shop); err != nil {
		return false, err // the pool throws the connection away
	}
	known[said] = shop
	return true, nil
}

// keptApart finds out whether this role, on this server, sees only the rows of the
// shop it has said. A superuser sees all whatever the policies say.
func (k *ServerKeeper) keptApart(ctx context.Context) error {
	if err := k.db.QueryRowContext(ctx, "SELECT bool_and(row_security_active(t)) FROM unnest(ARRAY['jobs','entries','files','answers','settings','tally','work']) AS t").Scan(&k.apart); err != nil {
		k.apart = false // an engine that does not know the question does not keep them apart
	}
	if k.apart {
		return nil
	}
	all, err := k.All(ctx)
	if err == nil && len(all) > 1 {
		err = fmt.Errorf("%w: it holds %d, but the server lets this role see the rows of all; give the benches a role that is no superuser and has no BYPASSRLS", store.ErrOneShop, len(all))
	}
	return err
}

// All implements store.Group.
func (k *ServerKeeper) All(ctx context.Context) ([]store.Shop, error) {
	ctx, cancel := context.WithTimeout(ctx, longestStatement)
	defer cancel()
	rows, err := k.db.QueryContext(ctx, "SELECT id, name FROM shops ORDER BY id")
	if err != nil {
		return nil, explain(err)
	}
	defer rows.Close()
	var out []store.Shop
	for rows.Next() {
		var s store.Shop
		if err := rows.Scan(&s.ID, &s.Name); err != nil {
			return nil, explain(err)
		}
		out = append(out, s)
	}
	return out, explain(rows.Err())
}

// plainShop is what a shop's id may be: it stands in addresses and cookies.
var plainShop = regexp.MustCompile(`^[a-z][a-z0-9-]{0,30}$`)

// ErrShopID says that a text cannot be a shop's id.
var ErrShopID = fmt.Errorf("a shop's id begins with a letter and has at most 31 small letters, digits and dashes, such as north-garage")

// AddShop implements store.Group.
func (k *ServerKeeper) AddShop(ctx context.Context, s store.Shop) error {
	switch {
	case !plainShop.MatchString(s.ID):
		return fmt.Errorf("add shop %q: %w", s.ID, ErrShopID)
	case !k.apart:
		return fmt.Errorf("add shop %q: %w: the server does not keep them apart for this role; give the benches a role that is no superuser and has no BYPASSRLS, and owns the tables", s.ID, store.ErrOneShop)
	}
	err := k.InTx(ctx, func(ctx context.Context, tx *sqlstore.Tx) error {
		r, err := tx.Exec(ctx, "INSERT INTO shops (id, name, since) VALUES (?, ?, ?) ON CONFLICT (id) DO NOTHING", s.ID, store.FitWho(s.Name), time.Now().UnixMilli())
		if err != nil {
			return err
		}
		if n, err := r.RowsAffected(); err != nil || n == 1 {
			return err
		}
		return store.ErrTaken
	})
	if err != nil {
		return fmt.Errorf("add shop %q: %w", s.ID, err)
	}
	return nil
}

// NameShop implements store.Group.
func (k *ServerKeeper) NameShop(ctx context.Context, s store.Shop) error {
	return k.InTx(ctx, func(ctx context.Context, tx *sqlstore.Tx) error {
		_, err := tx.Exec(ctx, "UPDATE shops SET name = ? WHERE id = ?", store.FitWho(s.Name), s.ID)
		return err
	})
}

// In implements store.Group.
func (k *ServerKeeper) In(ctx context.Context, shop string) (store.Store, error) {
	return k.InShop(ctx, shop)
}

// InShop is the store as a shop of it sees it.
func (k *ServerKeeper) InShop(ctx context.Context, shop string) (*ServerKeeper, error) {
	all, err := k.All(ctx)
	if err != nil {
		return nil, err
	}
	for _, s := range all {
		if s.ID == shop {
			in := *k
			in.Keeper, in.within = k.Keeper.For(shop), true
			return &in, nil
		}
	}
	return nil, fmt.Errorf("shop %q: %w", shop, store.ErrUnknown)
}
