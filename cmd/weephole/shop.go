package main

import (
	"context"
	"fmt"

	"weephole/internal/exit"
	"weephole/internal/store"
	"weephole/internal/web"

	"github.com/spf13/cobra"
)

const shopLong = `About the shops that share one database server. Each has its own jobs, people,
passphrase, settings and tally, and sees no other's. The database itself keeps them
apart (row security), so the benches need a role of their own that is no superuser.

A data folder holds one shop and needs none of this.`

const shopExamples = `  weephole shop add north --name "North Garage" --store-file address.txt
  weephole shop list --store-file address.txt
  weephole shop invite north --name Nora --store-file address.txt`

func shopCommand(env environment) *cobra.Command {
	cmd := &cobra.Command{
		Use:     "shop COMMAND",
		Short:   "the shops that share a database server",
		Long:    shopLong,
		Example: shopExamples,
		Args:    noArguments,
		RunE:    func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	cmd.AddCommand(shopAdd(env), shopList(env), shopInvite(env))
	return cmd
}

// group opens a database server for what concerns its shops as a whole.
func (p *place) group(ctx context.Context, env environment) (keeper, store.Group, error) {
	k, err := p.open(ctx, env, "weephole shop")
	if err != nil {
		return nil, nil, err
	}
	if g, ok := k.(store.Group); ok {
		return k, g, nil
	}
	k.Close() // nothing was written
	return nil, nil, exit.Usage(fmt.Errorf("a data folder holds one shop; name a database server with --store or --store-file"))
}

func shopAdd(env environment) *cobra.Command {
	var p place
	var name string
	cmd := &cobra.Command{
		Use:     "add ID",
		Short:   "make a shop, and the first way into it",
		Long:    "Makes a shop and prints a link with which its owner comes in once. The id is a\nshort name in small letters; people give it when they log in.",
		Example: `  weephole shop add north --name "North Garage" --store-file address.txt`,
		Args:    oneArgument("the shop's id"),
		RunE: func(cmd *cobra.Command, args []string) error {
			k, g, err := p.group(cmd.Context(), env)
			if err != nil {
				return err
			}
			defer k.Close() // each row is on the disk already
			if err := g.AddShop(cmd.Context(), store.Shop{ID: args[0], Name: name}); err != nil {
				return theirs(err)
			}
			return invite(cmd.Context(), env, g, args[0], "", store.Owner)
		},
	}
	p.flags(cmd.Flags())
	cmd.Flags().StringVar(&name, "name", "", "what people call the shop")
	return cmd
}

func shopList(env environment) *cobra.Command {
	var p place
	cmd := &cobra.Command{
		Use:     "list",
		Short:   "the shops and their names",
		Example: "  weephole shop list --store-file address.txt",
		Args:    noArguments,
		RunE: func(cmd *cobra.Command, _ []string) error {
			k, g, err := p.group(cmd.Context(), env)
			if err != nil {
				return err
			}
			defer k.Close() // it was only read
			all, err := g.All(cmd.Context())
			for _, s := range all {
				fmt.Fprintf(env.Out, "%-20s %s\n", s.ID, s.Name)
			}
			return err
		},
	}
	p.flags(cmd.Flags())
	return cmd
}

func shopInvite(env environment) *cobra.Command {
	var p place
	var name, role string
	cmd := &cobra.Command{
		Use:     "invite ID",
		Short:   "print a link with which somebody comes into a shop once",
		Example: "  weephole shop invite north --name Nora --role owner --store-file address.txt",
		Args:    oneArgument("the shop's id"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if !store.Role(role).May(store.Viewer) {
				return exit.Usage(fmt.Errorf("--role %q: write owner, mechanic or viewer", role))
			}
			k, g, err := p.group(cmd.Context(), env)
			if err != nil {
				return err
			}
			defer k.Close() // each row is on the disk already
			return invite(cmd.Context(), env, g, args[0], name, store.Role(role))
		},
	}
	p.flags(cmd.Flags())
	cmd.Flags().StringVar(&name, "name", "", "whom it is for")
	cmd.Flags().StringVar(&role, "role", string(store.Owner), "what he may do: owner, mechanic or viewer")
	return cmd
}

func invite(ctx context.Context, env environment, g store.Group, shop, name string, role store.Role) error {
	in, err := g.In(ctx, shop)
	if err != nil {
		return exit.Wrong(err)
	}
	path, err := web.Invite(ctx, in, name, role, env.Now())
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(env.Out, "Open this once on the bench, behind its address, to come in as %s of %s:\n%s\n", role, shop, path)
	return err
}
