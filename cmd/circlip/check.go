package main

import (
	"errors"
	"fmt"

	"circlip/db"
)

type checkCommand struct{}

var errBroken = errors.New("the ledger breaks its rules; keep the database as it is and restore a backup beside it to compare")

// Run proves the invariants of every workshop, or of the one named.
func (checkCommand) Run(s *session) error {
	document := checkDocument{documentHead: s.headOf(s.opts.Workshop), Workshops: []string{}, Findings: []findingJSON{}}
	err := s.with(func(store opened) error {
		workshops, err := s.toCheck(store)
		if err != nil {
			return err
		}
		for _, w := range workshops {
			findings, err := store.Check(s.ctx, w.ID)
			if err != nil {
				return err
			}
			document.add(w, findings)
		}
		return nil
	})
	if err != nil {
		return err
	}
	if s.opts.JSON {
		err = s.document(document)
	} else {
		s.sayChecked(document)
	}
	if len(document.Findings) > 0 {
		return errors.Join(err, errBroken)
	}
	return err
}

// toCheck lists the workshop that the options name, or all of them.
func (s *session) toCheck(store opened) ([]db.Workshop, error) {
	if s.opts.Workshop == "" {
		all, err := store.Workshops(s.ctx)
		if err != nil || len(all) > 0 {
			return all, err
		}
	}
	one, err := store.Workshop(s.ctx, s.opts.Workshop)
	return []db.Workshop{one}, err
}

func (d *checkDocument) add(w db.Workshop, findings []db.Finding) {
	d.Workshops = append(d.Workshops, w.Name)
	for _, f := range findings {
		d.Findings = append(d.Findings, findingJSON{w.Name, f.Rule, f.Item, f.Lot, f.Seq, f.Found, f.Expected})
	}
}

// sayChecked lists the findings below the workshop that they are of.
func (s *session) sayChecked(d checkDocument) {
	for _, name := range d.Workshops {
		var lines []string
		for _, f := range d.Findings {
			if f.Workshop == name {
				lines = append(lines, db.Finding{Rule: f.Rule, Item: f.Item, Lot: f.Lot, Seq: f.Seq, Found: f.Found, Expected: f.Expected}.String())
			}
		}
		fmt.Fprintf(s.out, "%s: %s\n", name, plural(len(lines), "finding"))
		for _, line := range lines {
			fmt.Fprintf(s.out, "  %s\n", line)
		}
	}
}
