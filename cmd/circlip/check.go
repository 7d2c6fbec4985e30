package main

import (
	"errors"
	"fmt"
)

type checkCommand struct{}

var errBroken = errors.New("the ledger breaks its rules; keep the database as it is and restore a backup beside it to compare")

// Run proves the invariants of every workshop, or of the one named.
func (checkCommand) Run(s *session) error {
	return s.with(func(store opened) error {
		workshops, err := store.Workshops(s.ctx)
		if err != nil {
			return err
		}
		broken := false
		for _, w := range workshops {
			if s.opts.Workshop != "" && s.opts.Workshop != w.Name {
				continue
			}
			findings, err := store.Check(s.ctx, w.ID)
			if err != nil {
				return err
			}
			broken = broken || len(findings) > 0
			fmt.Fprintf(s.out, "%s: %s\n", w.Name, plural(len(findings), "finding"))
			for _, f := range findings {
				fmt.Fprintf(s.out, "  %s\n", f)
			}
		}
		if broken {
			return errBroken
		}
		return nil
	})
}
