package inventory

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"strings"
)

// Proposal is one order to one supplier as a plan proposed it. A sheet carries
// it along, so that what a person made of it can be told from it, an old sheet
// from a fresh one, and one sheet placed twice from two.
type Proposal struct {
	Workshop string
	AsOf     Date
	Supplier string
	PlaceBy  Date
	Earlier  int // orders to the supplier that the workshop had placed before
	Lines    []ProposedLine
}

// ProposedLine is one item of a proposal.
type ProposedLine struct {
	Item     string
	Packs    int
	PackQty  Quantity
	Price    Money    // a pack
	Position Quantity // usable on hand and on order, less what is set aside for later, when it was proposed
}

// ID names the proposal by all that it says: the same shelf proposes the same
// order under the same name, another shelf under another. It is the beginning
// of a SHA-256 hash, 32 hexadecimal digits.
func (p Proposal) ID() string {
	var b strings.Builder
	fmt.Fprintf(&b, "v1\x1f%s\x1f%d\x1f%s\x1f%d\x1f%d", p.Workshop, p.AsOf, p.Supplier, p.PlaceBy, p.Earlier)
	for _, l := range p.Lines {
		fmt.Fprintf(&b, "\x1e%s\x1f%d\x1f%d\x1f%d\x1f%d", l.Item, l.Packs, l.PackQty, l.Price, l.Position)
	}
	sum := sha256.Sum256([]byte(b.String()))
	return hex.EncodeToString(sum[:16])
}

// Answer is what a person made of a proposal: packs changed, lines struck, notes
// written.
type Answer struct {
	Proposal
	Note  string // to the supplier, about the whole order
	Lines []AnsweredLine
}

// AnsweredLine is one line as it is to be ordered; a line that was struck is
// not among them.
type AnsweredLine struct {
	Item  string
	Packs int
	Note  string
}

// Changes are the lines of an answer that differ from its proposal, struck ones
// with no packs, in the proposal's order.
func (a Answer) Changes() []Change {
	packs := map[string]int{}
	for _, l := range a.Lines {
		packs[l.Item] += l.Packs
	}
	var changes []Change
	for _, l := range a.Proposal.Lines {
		if now := packs[l.Item]; now != l.Packs {
			changes = append(changes, Change{l.Item, l.Packs, now})
		}
	}
	return changes
}

// Change is a line of which other packs are ordered than were proposed.
type Change struct {
	Item          string
	Proposed, Now int
}
