package inventory

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// piece is one piece of an item: on the shelf, or to come on a day.
type piece struct {
	item    string
	aside   string // the job it is kept for
	expires Date
	comes   Date // zero: it is there
	gone    bool
}

// pieces is the shop as a heap of single pieces, and promises made from it in
// the plainest way: the rules of Kits for lines that every job takes, told once
// more without its laws, pools and sums.
type pieces struct {
	all  []*piece
	shop Shop
}

func heap(shop Shop) *pieces {
	p := &pieces{shop: shop}
	for _, l := range shop.Lots {
		free := l.OnHand
		for _, s := range l.SetAside {
			for range s.Qty {
				p.all = append(p.all, &piece{item: l.Item, aside: s.Job, expires: l.Expires})
				free--
			}
		}
		for range free {
			p.all = append(p.all, &piece{item: l.Item, expires: l.Expires})
		}
	}
	for _, o := range shop.Orders {
		for range o.Outstanding() {
			p.all = append(p.all, &piece{item: o.Item, comes: max(o.DueOn, shop.AsOf)})
		}
	}
	return p
}

// there are the pieces of an item on the shelf that are good on the day and
// kept for nobody else, first expired first.
func (p *pieces) there(item, aside string, on Date) []*piece {
	var found []*piece
	for _, x := range p.all {
		if x.item == item && x.aside == aside && !x.gone && x.comes == 0 && (x.expires == 0 || x.expires > on) {
			found = append(found, x)
		}
	}
	slices.SortStableFunc(found, func(a, b *piece) int { return cmp.Compare(uint32(a.expires)-1, uint32(b.expires)-1) })
	return found
}

// coming are the pieces on order that come from one day to another.
func (p *pieces) coming(item string, from, to Date) []*piece {
	var found []*piece
	for _, x := range p.all {
		if x.item == item && !x.gone && x.comes >= from && x.comes > 0 && x.comes <= to {
			found = append(found, x)
		}
	}
	slices.SortStableFunc(found, func(a, b *piece) int { return cmp.Compare(a.comes, b.comes) })
	return found
}

func take(found []*piece, n Quantity) Quantity {
	n = min(n, Quantity(len(found)))
	for _, x := range found[:n] {
		x.gone = true
	}
	return n
}

func (p *pieces) promise(item, job string, need Quantity, on Date) KitLine {
	line := KitLine{Item: item, Need: need, Probability: 1}
	aside, free := p.there(item, job, on), p.there(item, "", on)
	lacks := max(0, need-Quantity(len(aside)+len(free)))
	due := p.coming(item, 1, on)
	if lacks > Quantity(len(due)) {
		for _, a := range p.shop.Alternates {
			if other := p.there(a.Alternate, "", on); a.Item == item && Quantity(len(other)) >= need {
				take(other, need)
				line.Alternate = a.Alternate
				return line
			}
		}
	}
	line.SetAside = take(aside, need)
	line.FromFree = take(free, need-line.SetAside)
	switch {
	case lacks == 0:
	case lacks <= Quantity(len(due)):
		line.ArrivesOn = due[lacks-1].comes
		line.FromOrder = take(due, lacks)
	case p.openFor(&line, lacks, on):
	default:
		line.Short = lacks
		if late := p.coming(item, on+1, today+1000); len(late) > 0 {
			line.ArrivesOn = late[0].comes
		}
	}
	return line
}

func (p *pieces) openFor(line *KitLine, lacks Quantity, on Date) bool {
	for _, k := range p.shop.Kits {
		kits, opened := p.there(k.Kit, "", on), (lacks+k.Qty-1)/k.Qty
		if k.Item != line.Item || Quantity(len(kits)) < opened {
			continue
		}
		take(kits, opened)
		for _, kit := range kits[:opened] {
			for _, part := range p.shop.Kits {
				for range part.Qty {
					if part.Kit == k.Kit {
						p.all = append(p.all, &piece{item: part.Item, expires: kit.expires})
					}
				}
			}
		}
		take(p.there(line.Item, "", on), lacks)
		line.FromKit = k.Kit
		return true
	}
	return false
}

// anyShelf is a shop of few pieces and many wants: two seals, a ring and kits
// of them, alternates, things set aside, lots that expire within days.
func anyShelf(t *rapid.T) Shop {
	shop := Shop{AsOf: today, Settings: Settings{Readiness: 0.97}, Models: []Model{{Code: "fell", Family: "fork"}}}
	codes := []string{"ring", "seal-a", "seal-b", "set", "twin"}
	small := func(what string, most int) Quantity { return Quantity(rapid.IntRange(0, most).Draw(t, what)) }
	for n := range rapid.IntRange(1, 7).Draw(t, "jobs") {
		shop.Jobs = append(shop.Jobs, Job{Code: fmt.Sprint("J", n), Model: "fell", State: Booked, Services: rapid.SampledFrom([][]string{{"one"}, {"two"}, {"one", "two"}}).Draw(t, "services"),
			BenchDate: today + Date(rapid.IntRange(-2, 8).Draw(t, "bench"))})
	}
	for _, item := range codes {
		shop.Items = append(shop.Items, Item{Code: item, Measure: Each, Critical: true})
		for n := range rapid.IntRange(0, 3).Draw(t, "lots") {
			lot := Lot{Item: item, Code: fmt.Sprint(n), OnHand: small("on hand", 4), Expires: rapid.SampledFrom([]Date{0, today, today + 1, today + 4, today + 6}).Draw(t, "expires")}
			if lot.OnHand > 1 && rapid.Bool().Draw(t, "keep") {
				lot.SetAside = []SetAside{{Job: rapid.SampledFrom(shop.Jobs).Draw(t, "for").Code, Qty: 1 + small("aside", int(lot.OnHand)-1)}}
			}
			shop.Lots = append(shop.Lots, lot)
		}
		shop.Orders = append(shop.Orders, OrderLine{Item: item, Packs: int(small("packs", 3)), PackQty: 1, DueOn: today + Date(rapid.IntRange(-3, 9).Draw(t, "due"))})
	}
	for _, service := range []string{"one", "two"} {
		shop.Services = append(shop.Services, Service{Code: service, Family: "fork"})
		for _, item := range codes[:4] {
			if need := small("need", 3); need > 0 {
				shop.BOM = append(shop.BOM, BOMLine{Service: service, Model: AnyModel, Item: item, Qty: need, Need: 1})
			}
		}
	}
	shop.Kits = []KitPart{{"set", "seal-a", 2}, {"set", "ring", 1}, {"twin", "seal-b", 1}, {"twin", "seal-a", 1}}
	shop.Alternates = []Alternate{{Item: "seal-a", Alternate: "seal-b", Rank: 1}, {Item: "seal-a", Alternate: "ring", Rank: 2}}
	return shop
}

// Kits promises what the plain model does, piece by piece: each piece once,
// none past its expiry on the bench day, none that is kept for another job,
// kits opened only where nothing else is there, what is left of them used.
func TestKitsPromiseEachPieceOnce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		shop := anyShelf(t)
		model, bill := heap(shop), NewBill(shop)
		var got, want []string
		for _, k := range Kits(shop) {
			on := max(k.BenchDate, shop.AsOf)
			plain := k
			plain.Lines = nil
			for _, l := range bill.Lines(k.Services, k.Model, on) {
				plain.Lines = append(plain.Lines, model.promise(l.Item, k.Job, l.Qty, on))
			}
			got, want = append(got, kitText(k)), append(want, kitText(plain))
		}
		if a, b := strings.Join(got, "\n"), strings.Join(want, "\n"); a != b {
			t.Fatalf("found\n%s\nexpected\n%s", a, b)
		}
	})
}

// Whatever it comes from, each item's lots can be dealt out to the jobs so that
// none is used past its expiry: for every day, what later jobs are promised is
// not more than the lots hold that are still good then, with what kits gave.
// (Lots good on a later day are good on an earlier one as well, so that this is
// enough: Hall's condition.)
func TestPromisesCanBeKept(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		shop := anyShelf(t)
		shop.Kits = nil // what kits give is the model's to check
		kits := Kits(shop)
		for _, item := range shop.Items {
			for day := today; day < today+10; day++ {
				good, promised := Quantity(0), Quantity(0)
				for _, l := range shop.Lots {
					if l.Item == item.Code && l.UsableOn(day) {
						good += l.OnHand
					}
				}
				for _, k := range kits {
					for _, l := range k.Lines {
						if max(k.BenchDate, today) < day {
							continue
						}
						if l.Item == item.Code {
							promised += l.SetAside + l.FromFree
						}
						if l.Alternate == item.Code {
							promised += l.Need
						}
					}
				}
				if promised > good {
					t.Fatalf("%s: %d promised from %s on, %d still good: %+v", item.Code, promised, day, good, kits)
				}
			}
		}
	})
}
