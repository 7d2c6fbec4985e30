package reports

import (
	"cmp"
	"slices"
	"strings"

	"circlip/inventory"
)

// placedPick is a line of the pick list, sorted by where it lies.
type placedPick struct {
	bin, lot, job string // of what lacks, a word instead of the lot
	item          inventory.Item
	expires       inventory.Date
	qty           inventory.Quantity
	remark        string
	lacks         bool // it is not there
}

// placed are all lines of the jobs by bin, item and lot, jobs in their order,
// what lacks below the lots of its item. What several lines of a job take in
// the same way is one line.
func (b benchBook) placed(jobs []inventory.JobPicks) []placedPick {
	var all []placedPick
	for _, j := range jobs {
		first := len(all)
		for _, p := range b.linesOf(j) {
			at := slices.IndexFunc(all[first:], p.sameAs)
			if at < 0 {
				all = append(all, p)
				continue
			}
			all[first+at].qty += p.qty
		}
	}
	slices.SortStableFunc(all, func(x, y placedPick) int {
		return cmp.Or(compareBins(x.bin, y.bin), cmp.Compare(x.item.Code, y.item.Code), cmp.Compare(truth(x.lacks), truth(y.lacks)),
			cmp.Compare(uint32(x.expires)-1, uint32(y.expires)-1), cmp.Compare(x.lot, y.lot)) // no expiry comes last
	})
	return all
}

// sameAs: the two are one row of the list, whatever their quantities.
func (p placedPick) sameAs(o placedPick) bool {
	return p.item.Code == o.item.Code && p.bin == o.bin && p.lot == o.lot && p.expires == o.expires && p.remark == o.remark && p.lacks == o.lacks
}

func truth(is bool) int {
	if is {
		return 1
	}
	return 0
}

// linesOf are a job's lines, lot by lot, with what lacks of them.
func (b benchBook) linesOf(j inventory.JobPicks) []placedPick {
	var lines []placedPick
	for _, o := range j.Opens {
		item := b.item(o.Item)
		lines = append(lines, placedPick{bin: item.Bin, lot: o.Lot, job: j.Job, item: item, expires: o.Expires, qty: o.Qty, remark: "kit to be opened; what is left of it goes to its bins"})
	}
	for i, l := range j.Lines {
		lines = append(lines, b.line(j, l, j.Picks[i])...)
	}
	return lines
}

// line is one line of a kit: what of it lies where, and what does not.
func (b benchBook) line(j inventory.JobPicks, l inventory.KitLine, picks []inventory.Pick) []placedPick {
	var lines []placedPick
	need, found := sometimes(l), inventory.Quantity(0)
	for _, p := range picks {
		item, why := b.item(p.Item), need
		bin := item.Bin
		found += p.Qty
		if p.SetAside {
			why = "set aside"
		}
		if p.OutOf != "" {
			bin, why = b.item(p.OutOf).Bin, joined(why, "out of the kit "+p.OutOf)
		}
		if p.Item != l.Item {
			why = joined(why, "in place of "+l.Item)
		}
		lines = append(lines, placedPick{bin: bin, lot: p.Lot, job: j.Job, item: item, expires: p.Expires, qty: p.Qty, remark: why})
	}
	item := b.item(l.Item)
	for _, lack := range lacks(l, l.Need-l.FromOrder-l.Short-found) {
		lines = append(lines, placedPick{bin: item.Bin, lot: lack.word, job: j.Job, item: item, qty: lack.qty, remark: joined(need, lack.why), lacks: true})
	}
	return lines
}

// lack is a quantity that lies nowhere: a word that stands where its lot would,
// and why.
type lack struct {
	qty       inventory.Quantity
	word, why string
}

// lacks are what of a line is on order, short, or held to be covered though
// nothing lies there, since hardly any job asks for it.
func lacks(l inventory.KitLine, nowhere inventory.Quantity) []lack {
	var found []lack
	if nowhere > 0 {
		found = append(found, lack{nowhere, "none", "none on the shelf"})
	}
	if l.FromOrder > 0 {
		found = append(found, lack{l.FromOrder, "on order", "not here yet: due " + shortDay(l.ArrivesOn)})
	}
	if l.Short > 0 {
		why := "short: nothing on order"
		if !l.ArrivesOn.IsZero() {
			why = "short: comes too late, " + shortDay(l.ArrivesOn)
		}
		if !l.Critical {
			why += "; the job does not wait for it"
		}
		found = append(found, lack{l.Short, "SHORT", why})
	}
	return found
}

// sometimes marks a line that not every such job takes.
func sometimes(l inventory.KitLine) string {
	if l.Probability >= 1 {
		return ""
	}
	return "if needed: " + oftenOf(l.Probability) + " of such jobs take it"
}

// joined puts remarks behind each other.
func joined(texts ...string) string {
	return strings.Join(slices.DeleteFunc(texts, func(t string) bool { return t == "" }), "; ")
}

// codeAndName is an item as labels and people call it.
func codeAndName(i inventory.Item) string {
	if i.Name == "" || i.Name == i.Code {
		return i.Code
	}
	return i.Code + " · " + i.Name
}
