package main

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"weephole/internal/exit"
	"weephole/internal/store"
	"weephole/internal/store/postgres"
	"weephole/internal/store/sqlite"
	"weephole/internal/store/sqlstore"

	"github.com/spf13/pflag"
)

// place says where jobs are kept: a data folder on this machine, or a database
// server that several benches share.
type place struct {
	data, address, addressFile string
	shop                       string // of a database server's
	shared                     bool
}

func (p *place) flags(fl *pflag.FlagSet) {
	fl.StringVar(&p.data, "data", "", "data folder; "+defaultData()+" if not given")
	fl.StringVar(&p.address, "store", "", "address of a PostgreSQL database that benches share, instead of a data folder")
	fl.StringVar(&p.addressFile, "store-file", "", "read that address from the first line of this file, so that no password stands here")
	fl.StringVar(&p.shop, "shop", "", "which of the shops in that database; "+postgres.Main+" if not given")
}

// server gives the address of the database server, "" where a folder is meant.
func (p *place) server() (string, error) {
	address := p.address
	switch {
	case p.address != "" && p.addressFile != "":
		return "", exit.Usage(errors.New("--store and --store-file say the same; give one of them"))
	case p.addressFile != "":
		line, err := firstLine(p.addressFile)
		if err != nil {
			return "", exit.Wrong(fmt.Errorf("--store-file: %w", err))
		}
		address = strings.TrimSpace(line)
		if address == "" {
			return "", exit.Wrong(fmt.Errorf("--store-file: the first line of %s is empty; write the address there", p.addressFile))
		}
	}
	if address != "" && p.data != "" {
		return "", exit.Usage(errors.New("--data names a folder and --store a database server; give one of them"))
	}
	if address == "" && p.shop != "" {
		return "", exit.Usage(errors.New("--shop is for a database server (--store or --store-file); a data folder holds one shop"))
	}
	return address, nil
}

// keeper is a store that was opened, on either engine.
type keeper interface {
	store.Store
	Notices() []string
	Moving(context.Context) error
	base() *sqlstore.Keeper
}

type folderKeeper struct{ *sqlite.FileKeeper }

func (k folderKeeper) base() *sqlstore.Keeper { return k.FileKeeper.Keeper }

// serverKeeper is a shop of a database server; whole is all of it.
type serverKeeper struct {
	*postgres.ServerKeeper
	whole *postgres.ServerKeeper
}

func (k serverKeeper) base() *sqlstore.Keeper { return k.ServerKeeper.Keeper }
func (k serverKeeper) Close() error           { return k.whole.Close() }

// open opens the store for one who says who he is, and says what a person should
// know of that. A damaged database is opened too: the pages say what to do.
func (p *place) open(ctx context.Context, env environment, as string) (keeper, error) {
	k, err := p.connect(ctx, env, as)
	if err != nil {
		return nil, theirs(err)
	}
	for _, n := range k.Notices() {
		fmt.Fprintln(env.Err, n)
	}
	return k, nil
}

func (p *place) connect(ctx context.Context, env environment, as string) (keeper, error) {
	address, err := p.server()
	if err != nil {
		return nil, err
	}
	if address != "" {
		whole, err := postgres.Open(ctx, address, env.Now)
		if err != nil || p.shop == "" {
			return serverKeeper{whole, whole}, err
		}
		in, err := whole.InShop(ctx, p.shop)
		if err != nil {
			return nil, errors.Join(exit.Wrong(fmt.Errorf("--shop: %w; \"weephole shop list\" shows which there are", err)), whole.Close())
		}
		return serverKeeper{in, whole}, nil
	}
	with := []sqlite.Option{sqlite.As(as)}
	if p.shared {
		with = append(with, sqlite.Shared())
	}
	k, err := sqlite.Open(ctx, dataFolder(p.data), env.Now, with...)
	return folderKeeper{k}, err
}

// theirs marks the errors of opening a store that the person can mend by asking
// for something else.
func theirs(err error) error {
	for _, e := range []error{store.ErrOpen, store.ErrInUse, store.ErrNewer, store.ErrOneShop, store.ErrTaken, postgres.ErrShopID, postgres.ErrAddress, sqlstore.ErrNotEmpty, sqlstore.ErrMoving} {
		if errors.Is(err, e) {
			return exit.Wrong(err)
		}
	}
	return err
}

// only refuses to take one of several shops for all of them.
func (p *place) only(ctx context.Context, k keeper) error {
	g, several := k.(store.Group)
	if !several || p.shop != "" {
		return nil
	}
	all, err := g.All(ctx)
	if err != nil || len(all) < 2 {
		return err
	}
	var ids []string
	for _, s := range all {
		ids = append(ids, s.ID)
	}
	return exit.Usage(fmt.Errorf("the database holds several shops (%s); say which with --shop", strings.Join(ids, ", ")))
}

// named is the place that one word names: an address or a data folder.
func named(word string) place {
	if postgres.IsAddress(word) {
		return place{address: word}
	}
	return place{data: word}
}
