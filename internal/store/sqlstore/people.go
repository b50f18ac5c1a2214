package sqlstore

import (
	"context"
	"fmt"
	"strings"
	"time"

	"weephole/internal/store"
)

const membersWhole = `SELECT p.id, p.name, p.secret, m.role, m.since FROM members m JOIN people p ON p.id = m.person WHERE m.shop = ?`

func scanPerson(row scanner) (store.Person, error) {
	var p store.Person
	var role string
	var since int64
	err := row.Scan(&p.ID, &p.Name, &p.Secret, &role, &since)
	p.Role, p.Since = store.Role(role), milli(since)
	return p, err
}

// People implements store.People.
func (k *Keeper) People(ctx context.Context) ([]store.Person, error) {
	var out []store.Person
	err := k.ask(ctx, func() { out = []store.Person{} }, func(row scanner) error {
		p, err := scanPerson(row)
		out = append(out, p)
		return err
	}, membersWhole+" ORDER BY p.name, p.id", k.shop)
	if err != nil {
		return nil, fmt.Errorf("list people: %w", err)
	}
	return out, nil
}

// Person implements store.People. The names of a shop are few and are compared
// here, because engines differ in what a capital is.
func (k *Keeper) Person(ctx context.Context, name string) (store.Person, error) {
	all, err := k.People(ctx)
	if err != nil {
		return store.Person{}, err
	}
	for _, p := range all {
		if strings.EqualFold(p.Name, name) {
			return p, nil
		}
	}
	return store.Person{}, fmt.Errorf("person %q: %w", name, store.ErrUnknown)
}

// AddPerson implements store.People.
func (k *Keeper) AddPerson(ctx context.Context, p store.Person) error {
	err := k.InTx(ctx, func(ctx context.Context, tx *Tx) error { return k.addPerson(ctx, tx, p) })
	if err != nil {
		return fmt.Errorf("add %q: %w", p.Name, err)
	}
	return nil
}

func (k *Keeper) addPerson(ctx context.Context, tx *Tx, p store.Person) error {
	p.Name = store.FitWho(strings.TrimSpace(p.Name))
	if p.ID == "" || len(p.ID) > store.MaxID {
		return fmt.Errorf("a person's id of %d bytes", len(p.ID))
	}
	if p.Since.IsZero() {
		p.Since = k.e.Now()
	}
	since := p.Since.UnixMilli()
	if k.e.Shops { // the shop's row is the lock: two of one name never come in at once
		if err := touched(tx.Exec(ctx, "UPDATE shops SET since = since WHERE id = ?", k.shop)); err != nil {
			return err
		}
	}
	// A person who is there keeps his name and secret.
	err := tx.Row(ctx, "SELECT name FROM people WHERE id = ?", p.ID).Scan(&p.Name)
	if missing(err) {
		_, err = tx.Exec(ctx, "INSERT INTO people (id, name, secret, since) VALUES (?,?,?,?)", p.ID, p.Name, p.Secret, since)
	}
	if err != nil {
		return err
	}
	if p.Name == "" {
		return fmt.Errorf("a person needs a name")
	}
	rows, err := tx.tx.QueryContext(ctx, tx.bind(membersWhole), k.shop)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		other, err := scanPerson(rows)
		if err != nil {
			return err
		}
		if strings.EqualFold(other.Name, p.Name) {
			return store.ErrTaken
		}
	}
	if err := rows.Err(); err != nil {
		return err
	}
	rows.Close()
	_, err = tx.Exec(ctx, "INSERT INTO members (shop, person, role, since) VALUES (?,?,?,?)", k.shop, p.ID, string(p.Role), since)
	return err
}

// SetRole implements store.People.
func (k *Keeper) SetRole(ctx context.Context, person string, role, was store.Role) error {
	err := k.InTx(ctx, func(ctx context.Context, tx *Tx) error {
		// The row is written to, so that two who decide at once see each other.
		var stands string
		err := tx.Row(ctx, "UPDATE members SET since = since WHERE shop = ? AND person = ? RETURNING role", k.shop, person).Scan(&stands)
		switch {
		case missing(err):
			return store.ErrUnknown
		case err != nil:
			return err
		case stands == string(role): // also by a commit whose answer was lost
			return nil
		case was != "" && stands != string(was):
			return store.ErrOvertaken
		}
		if role != store.Owner {
			if err := k.another(ctx, tx, person); err != nil {
				return err
			}
		}
		return touched(tx.Exec(ctx, "UPDATE members SET role = ? WHERE shop = ? AND person = ?", string(role), k.shop, person))
	})
	if err != nil {
		return fmt.Errorf("set a role: %w", err)
	}
	return nil
}

// another refuses to lose the shop's last owner. With a passphrase there is always
// somebody who may let people in.
func (k *Keeper) another(ctx context.Context, tx *Tx, person string) error {
	var role string
	var owners, phrases int
	// The row is written to, so that two owners who go at once see each other.
	err := tx.Row(ctx, "UPDATE members SET since = since WHERE shop = ? AND person = ? RETURNING role", k.shop, person).Scan(&role)
	switch {
	case missing(err):
		return store.ErrUnknown
	case err != nil:
		return err
	case role != string(store.Owner):
		return nil
	}
	if _, err := tx.Exec(ctx, "UPDATE members SET since = since WHERE shop = ? AND role = 'owner'", k.shop); err != nil {
		return err
	}
	if err := tx.Row(ctx, "SELECT count(*) FROM members WHERE shop = ? AND role = 'owner' AND person <> ?", k.shop, person).Scan(&owners); err != nil {
		return err
	}
	if err := tx.Row(ctx, "SELECT count(*) FROM settings WHERE shop = ? AND key = 'passphrase' AND value <> ''", k.shop).Scan(&phrases); err != nil {
		return err
	}
	if owners+phrases == 0 {
		return store.ErrLastOwner
	}
	return nil
}

// SetSecret implements store.People.
func (k *Keeper) SetSecret(ctx context.Context, person, secret, keepSession string) error {
	err := k.InTx(ctx, func(ctx context.Context, tx *Tx) error {
		if err := touched(tx.Exec(ctx, "UPDATE people SET secret = ? WHERE id = ? AND id IN (SELECT person FROM members WHERE shop = ?)", secret, person, k.shop)); err != nil {
			return err
		}
		if err := k.tellEnded(ctx, tx, "person = ? AND token <> ?", person, keepSession); err != nil {
			return err
		}
		_, err := tx.Exec(ctx, "DELETE FROM sessions WHERE person = ? AND token <> ?", person, keepSession)
		return err
	})
	if err != nil {
		return fmt.Errorf("set a secret: %w", err)
	}
	return nil
}

// RemovePerson implements store.People.
func (k *Keeper) RemovePerson(ctx context.Context, person string) error {
	err := k.InTx(ctx, func(ctx context.Context, tx *Tx) error {
		if err := k.another(ctx, tx, person); err != nil {
			return err
		}
		if err := k.tellEnded(ctx, tx, "shop = ? AND person = ?", k.shop, person); err != nil {
			return err
		}
		if _, err := tx.Exec(ctx, "DELETE FROM sessions WHERE shop = ? AND person = ?", k.shop, person); err != nil {
			return err
		}
		return touched(tx.Exec(ctx, "DELETE FROM members WHERE shop = ? AND person = ?", k.shop, person))
	})
	if err != nil {
		return fmt.Errorf("remove a person: %w", err)
	}
	return nil
}

// Shops implements store.People.
func (k *Keeper) Shops(ctx context.Context, person string) ([]store.Membership, error) {
	query := "SELECT m.shop, '', m.role FROM members m WHERE m.person = ?"
	if k.e.Shops {
		query = "SELECT s.id, s.name, m.role FROM members m JOIN shops s ON s.id = m.shop WHERE m.person = ? ORDER BY s.id"
	}
	var out []store.Membership
	err := k.ask(ctx, func() { out = []store.Membership{} }, func(row scanner) error {
		var m store.Membership
		var role string
		err := row.Scan(&m.Shop.ID, &m.Shop.Name, &role)
		m.Role = store.Role(role)
		out = append(out, m)
		return err
	}, query, person)
	if err != nil {
		return nil, fmt.Errorf("list a person's shops: %w", err)
	}
	return out, nil
}

// Invite implements store.People.
func (k *Keeper) Invite(ctx context.Context, i store.Invitation) error {
	return k.one(ctx, "invite", "INSERT INTO invitations (token, shop, name, role, inviter, expires) VALUES (?,?,?,?,?,?)",
		i.Token, k.shop, store.FitWho(i.Name), string(i.Role), store.FitWho(i.Inviter), i.Expires.UnixMilli())
}

const invitationColumns = "SELECT token, shop, name, role, inviter, expires FROM invitations WHERE expires > ?"

func scanInvitation(row scanner) (store.Invitation, error) {
	var i store.Invitation
	var role string
	var expires int64
	err := row.Scan(&i.Token, &i.Shop, &i.Name, &role, &i.Inviter, &expires)
	i.Role, i.Expires = store.Role(role), milli(expires)
	return i, err
}

// Invitation implements store.People.
func (k *Keeper) Invitation(ctx context.Context, token string, now time.Time) (store.Invitation, error) {
	var i store.Invitation
	err := k.row(ctx, func(row scanner) (err error) {
		i, err = scanInvitation(row)
		return err
	}, invitationColumns+" AND token = ?", now.UnixMilli(), token)
	if err != nil {
		return i, fmt.Errorf("invitation: %w", err)
	}
	return i, nil
}

// Invitations implements store.People.
func (k *Keeper) Invitations(ctx context.Context, now time.Time) ([]store.Invitation, error) {
	var out []store.Invitation
	err := k.ask(ctx, func() { out = []store.Invitation{} }, func(row scanner) error {
		i, err := scanInvitation(row)
		out = append(out, i)
		return err
	}, invitationColumns+" AND shop = ? ORDER BY expires, token", now.UnixMilli(), k.shop)
	if err != nil {
		return nil, fmt.Errorf("list invitations: %w", err)
	}
	return out, nil
}

// DropInvitation implements store.People.
func (k *Keeper) DropInvitation(ctx context.Context, token string) error {
	return k.one(ctx, "withdraw an invitation", "DELETE FROM invitations WHERE shop = ? AND token = ?", k.shop, token)
}

// Accept implements store.People.
func (k *Keeper) Accept(ctx context.Context, token string, p store.Person, now time.Time) error {
	err := k.InTx(ctx, func(ctx context.Context, tx *Tx) error {
		var role string
		err := tx.Row(ctx, "DELETE FROM invitations WHERE shop = ? AND token = ? AND expires > ? RETURNING role", k.shop, token, now.UnixMilli()).Scan(&role)
		if missing(err) {
			return store.ErrUnknown
		}
		if err != nil {
			return err
		}
		p.Role = store.Role(role)
		return k.addPerson(ctx, tx, p)
	})
	if err != nil {
		return fmt.Errorf("accept an invitation: %w", err)
	}
	return nil
}
