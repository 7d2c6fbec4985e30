package db_test

import (
	"errors"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"circlip/db"
	"circlip/inventory"
)

// openKit takes kits apart as the parts list says: two seals and a wiper.
func openKit(lot string, kits inventory.Quantity) db.OpenKit {
	return db.OpenKit{Kit: "kit", Lot: lot, Qty: kits, On: day(4),
		Parts: []db.KitShare{{Item: "seal", Qty: 2, UnitCost: 30_000}, {Item: "wiper", Qty: 1, UnitCost: 20_000}}}
}

func inspect(item, lot string, until inventory.Date) db.Extend {
	return db.Extend{Item: item, Lot: lot, Until: until, By: "Ann", Note: "no cracks", On: day(4)}
}

const lotsSQL = `
SELECT format('%s/%s: %s on hand, %s set aside, received %s, expires %s, at %s', b.item, b.lot, b.on_hand, b.reserved,
	to_char(l.received_on, 'FMDD'), CASE l.expires_on WHEN 'infinity' THEN 'never' ELSE to_char(l.expires_on, 'FMDD') END, l.unit_cost)
FROM circlip.balance AS b JOIN circlip.lot AS l USING (workshop, item, lot) WHERE b.workshop = $1 ORDER BY b.item, b.lot`

// Each row is a shelf, one act, and the lots after it with the days of March
// on which they were received and expire.
func TestActsThatGoOnAsSomethingElse(t *testing.T) {
	s := openShop(t)
	kits := db.Receive{Item: "kit", Lot: "K", Qty: 3, On: day(1), Expires: day(20), UnitCost: 80_000}
	older := db.Receive{Item: "kit", Lot: "old", Qty: 2, On: day(2), Expires: day(9)}
	seals := db.Receive{Item: "seal", Lot: "A", Qty: 10, On: day(1), Expires: day(20), UnitCost: 700}
	drum := db.Receive{Item: "oil", Lot: "drum", Qty: 900, On: day(1), Expires: day(28), UnitCost: 5}
	aside := func(item, job string, qty inventory.Quantity) db.SetAside {
		return db.SetAside{Job: job, On: day(2), Lines: []db.Line{{Item: item, Qty: qty}}}
	}
	open := func(lot string, qty inventory.Quantity, until int) db.OpenContainer {
		return db.OpenContainer{Item: "oil", Lot: lot, Qty: qty, Until: day(until), On: day(4)}
	}
	sealShare := func(spoil func(*db.KitShare)) db.OpenKit {
		k := openKit("", 1)
		k.Parts = k.Parts[:1]
		spoil(&k.Parts[0])
		return k
	}
	const (
		threeKits = "kit/K: 3 on hand, 0 set aside, received 1, expires 20, at 80000"
		twoOld    = "kit/old: 2 on hand, 0 set aside, received 2, expires 9, at 0"
		tenSeals  = "seal/A: 10 on hand, 0 set aside, received 1, expires 20, at 700"
		noSeals   = "seal/A: 0 on hand, 0 set aside, received 1, expires 20, at 700"
		fullDrum  = "oil/drum: 900 on hand, 0 set aside, received 1, expires 28, at 5"
	)
	for name, c := range map[string]struct {
		before []db.Act
		act    db.Act
		want   []string
		err    error
	}{
		"kits become their parts, which age with them": {[]db.Act{kits}, openKit("", 2), []string{
			"kit/K: 1 on hand, 0 set aside, received 1, expires 20, at 80000",
			"seal/K: 4 on hand, 0 set aside, received 1, expires 20, at 30000",
			"wiper/K: 2 on hand, 0 set aside, received 1, expires 20, at 20000"}, nil},
		"the kit that expires first is opened first": {[]db.Act{kits, older}, openKit("", 3), []string{
			"kit/K: 2 on hand, 0 set aside, received 1, expires 20, at 80000",
			"kit/old: 0 on hand, 0 set aside, received 2, expires 9, at 0",
			"seal/K: 2 on hand, 0 set aside, received 1, expires 20, at 30000",
			"seal/old: 4 on hand, 0 set aside, received 2, expires 9, at 30000",
			"wiper/K: 1 on hand, 0 set aside, received 1, expires 20, at 20000",
			"wiper/old: 2 on hand, 0 set aside, received 2, expires 9, at 20000"}, nil},
		"a part may expire before its kit": {[]db.Act{kits}, sealShare(func(p *db.KitShare) { p.Expires = day(15) }), []string{
			"kit/K: 2 on hand, 0 set aside, received 1, expires 20, at 80000",
			"seal/K: 2 on hand, 0 set aside, received 1, expires 15, at 30000"}, nil},
		"and not after it": {[]db.Act{kits}, sealShare(func(p *db.KitShare) { p.Expires = day(25) }), []string{
			"kit/K: 2 on hand, 0 set aside, received 1, expires 20, at 80000",
			"seal/K: 2 on hand, 0 set aside, received 1, expires 20, at 30000"}, nil},
		"parts join a lot of the kit's name that is alike": {[]db.Act{kits, openKit("", 1)}, openKit("", 1), []string{
			"kit/K: 1 on hand, 0 set aside, received 1, expires 20, at 80000",
			"seal/K: 4 on hand, 0 set aside, received 1, expires 20, at 30000",
			"wiper/K: 2 on hand, 0 set aside, received 1, expires 20, at 20000"}, nil},
		"even one that is empty by now": {
			[]db.Act{kits, openKit("", 1), db.Count{Item: "seal", Found: 0, On: day(4)}, db.Count{Item: "wiper", Found: 0, On: day(4)}},
			openKit("", 1), []string{
				"kit/K: 1 on hand, 0 set aside, received 1, expires 20, at 80000",
				"seal/K: 2 on hand, 0 set aside, received 1, expires 20, at 30000",
				"wiper/K: 1 on hand, 0 set aside, received 1, expires 20, at 20000"}, nil},
		"and have one of their own beside another": {
			[]db.Act{kits, db.Receive{Item: "seal", Lot: "K", Qty: 1, On: day(1), Expires: day(20)}}, openKit("K", 1), []string{
				"kit/K: 2 on hand, 0 set aside, received 1, expires 20, at 80000",
				"seal/K: 1 on hand, 0 set aside, received 1, expires 20, at 0",
				"seal/K-2: 2 on hand, 0 set aside, received 1, expires 20, at 30000",
				"wiper/K: 1 on hand, 0 set aside, received 1, expires 20, at 20000"}, nil},
		"a kit without one of its parts": {[]db.Act{kits}, sealShare(func(p *db.KitShare) { p.Qty = 1 }), []string{
			"kit/K: 2 on hand, 0 set aside, received 1, expires 20, at 80000",
			"seal/K: 1 on hand, 0 set aside, received 1, expires 20, at 30000"}, nil},
		"no more comes out than a kit holds":    {[]db.Act{kits}, sealShare(func(p *db.KitShare) { p.Qty = 3 }), []string{threeKits}, inventory.ErrConflict},
		"nothing comes out that a kit has not":  {[]db.Act{kits}, sealShare(func(p *db.KitShare) { p.Item = "oil" }), []string{threeKits}, inventory.ErrNotFound},
		"what is no kit holds nothing":          {[]db.Act{seals}, db.OpenKit{Kit: "seal", Qty: 1, On: day(4), Parts: openKit("", 1).Parts}, []string{tenSeals}, inventory.ErrNotFound},
		"nobody's kit is not opened":            {nil, db.OpenKit{Kit: "kti", Qty: 1, On: day(4), Parts: openKit("", 1).Parts}, nil, inventory.ErrNotFound},
		"no more kits are opened than are free": {[]db.Act{kits, aside("kit", "J", 2)}, openKit("", 2), []string{"kit/K: 3 on hand, 2 set aside, received 1, expires 20, at 80000"}, inventory.ErrShort},
		"a kit that has expired is not opened":  {[]db.Act{older}, db.OpenKit{Kit: "kit", Qty: 1, On: day(9), Parts: openKit("", 1).Parts}, []string{twoOld}, inventory.ErrShort},
		"but by name, and its parts have expired too": {
			[]db.Act{older}, db.OpenKit{Kit: "kit", Lot: "old", Qty: 1, On: day(9), Parts: []db.KitShare{{Item: "wiper", Qty: 1}}}, []string{
				"kit/old: 1 on hand, 0 set aside, received 2, expires 9, at 0",
				"wiper/old: 1 on hand, 0 set aside, received 2, expires 9, at 0"}, nil},
		"a lot of kits that nobody has": {[]db.Act{kits}, openKit("X", 1), []string{threeKits}, inventory.ErrNotFound},

		"an inspected lot goes on whole": {[]db.Act{seals}, inspect("seal", "A", day(30)), []string{
			noSeals, "seal/A inspected: 10 on hand, 0 set aside, received 1, expires 30, at 700"}, nil},
		"what is set aside goes along": {[]db.Act{seals, aside("seal", "J", 3), aside("seal", "K", 2)}, inspect("seal", "A", day(30)), []string{
			noSeals, "seal/A inspected: 10 on hand, 5 set aside, received 1, expires 30, at 700"}, nil},
		"a lot goes on once": {[]db.Act{seals, inspect("seal", "A", day(25))}, inspect("seal", "A inspected", day(30)), []string{
			noSeals, "seal/A inspected: 10 on hand, 0 set aside, received 1, expires 25, at 700"}, inventory.ErrConflict},
		"what comes back to the old lot may follow": {
			[]db.Act{seals, take("J", "seal", 4), inspect("seal", "A", day(25)), db.Reverse{Item: "seal", Lot: "A", Seq: 2, On: day(5)}},
			inspect("seal", "A", day(26)), []string{noSeals,
				"seal/A inspected: 6 on hand, 0 set aside, received 1, expires 25, at 700",
				"seal/A inspected-2: 4 on hand, 0 set aside, received 1, expires 26, at 700"}, nil},
		"an inspection makes a lot good for longer": {[]db.Act{seals}, inspect("seal", "A", day(20)), []string{tenSeals}, inventory.ErrConflict},
		"a lot that does not age needs none": {
			[]db.Act{db.Receive{Item: "seal", Lot: "A", Qty: 1, On: day(1)}}, inspect("seal", "A", day(30)),
			[]string{"seal/A: 1 on hand, 0 set aside, received 1, expires never, at 0"}, inventory.ErrConflict},
		"an empty lot has nothing to inspect": {
			[]db.Act{seals, take("J", "seal", 10)}, inspect("seal", "A", day(30)), []string{noSeals}, inventory.ErrConflict},
		"a lot that nobody has is not inspected": {[]db.Act{seals}, inspect("seal", "B", day(30)), []string{tenSeals}, inventory.ErrNotFound},

		"a container that is opened keeps for less long": {[]db.Act{drum}, open("drum", 100, 14), []string{
			"oil/drum: 800 on hand, 0 set aside, received 1, expires 28, at 5",
			"oil/drum opened 2026-03-04: 100 on hand, 0 set aside, received 1, expires 14, at 5"}, nil},
		"and never longer than it would have": {[]db.Act{drum}, open("drum", 900, 31), []string{
			"oil/drum: 0 on hand, 0 set aside, received 1, expires 28, at 5",
			"oil/drum opened 2026-03-04: 900 on hand, 0 set aside, received 1, expires 28, at 5"}, nil},
		"the second of a day has a lot of its own": {[]db.Act{drum, open("drum", 100, 14)}, open("drum", 100, 14), []string{
			"oil/drum: 700 on hand, 0 set aside, received 1, expires 28, at 5",
			"oil/drum opened 2026-03-04: 100 on hand, 0 set aside, received 1, expires 14, at 5",
			"oil/drum opened 2026-03-04-2: 100 on hand, 0 set aside, received 1, expires 14, at 5"}, nil},
		"what is set aside stays closed": {[]db.Act{drum, aside("oil", "J", 850)}, open("drum", 100, 14), []string{
			"oil/drum: 900 on hand, 850 set aside, received 1, expires 28, at 5"}, inventory.ErrShort},
		"a container is opened once": {[]db.Act{drum, open("drum", 900, 14)}, open("drum opened 2026-03-04", 100, 10), []string{
			"oil/drum: 0 on hand, 0 set aside, received 1, expires 28, at 5",
			"oil/drum opened 2026-03-04: 900 on hand, 0 set aside, received 1, expires 14, at 5"}, inventory.ErrConflict},
		"nobody's container is not opened": {[]db.Act{drum}, open("dram", 1, 14), []string{fullDrum}, inventory.ErrNotFound},
		"a container out of an inspected lot is not inspected again": {
			[]db.Act{drum, inspect("oil", "drum", day(30)), open("drum inspected", 100, 14)},
			inspect("oil", "drum inspected opened 2026-03-04", day(31)), []string{
				"oil/drum: 0 on hand, 0 set aside, received 1, expires 28, at 5",
				"oil/drum inspected: 800 on hand, 0 set aside, received 1, expires 30, at 5",
				"oil/drum inspected opened 2026-03-04: 100 on hand, 0 set aside, received 1, expires 14, at 5"}, inventory.ErrConflict},

		"one end of a kit is not undone":       {[]db.Act{kits, openKit("", 1)}, db.Reverse{Item: "kit", Lot: "K", Seq: 2, On: day(5)}, []string{"kit/K: 2 on hand, 0 set aside, received 1, expires 20, at 80000", "seal/K: 2 on hand, 0 set aside, received 1, expires 20, at 30000", "wiper/K: 1 on hand, 0 set aside, received 1, expires 20, at 20000"}, inventory.ErrConflict},
		"nor one end of an inspection":         {[]db.Act{seals, inspect("seal", "A", day(30))}, db.Reverse{Item: "seal", Lot: "A inspected", Seq: 1, On: day(5)}, []string{noSeals, "seal/A inspected: 10 on hand, 0 set aside, received 1, expires 30, at 700"}, inventory.ErrConflict},
		"a take of an opened lot is undone":    {[]db.Act{drum, open("drum", 900, 14), take("J", "oil", 5)}, db.Reverse{Item: "oil", Lot: "drum opened 2026-03-04", Seq: 2, On: day(5)}, []string{"oil/drum: 0 on hand, 0 set aside, received 1, expires 28, at 5", "oil/drum opened 2026-03-04: 900 on hand, 0 set aside, received 1, expires 14, at 5"}, nil},
		"a part of an opened kit is set aside": {[]db.Act{kits, openKit("", 1)}, aside("wiper", "J", 1), []string{"kit/K: 2 on hand, 0 set aside, received 1, expires 20, at 80000", "seal/K: 2 on hand, 0 set aside, received 1, expires 20, at 30000", "wiper/K: 1 on hand, 1 set aside, received 1, expires 20, at 20000"}, nil},
	} {
		t.Run(name, func(t *testing.T) {
			s := *s
			s.workshop = s.another(t)
			for _, act := range c.before {
				s.must(t, act)
			}
			key := uuid.New()
			done, err := s.Do(t.Context(), s.workshop, key, c.act)
			if !errors.Is(err, c.err) {
				t.Errorf("found error %v, expected %v", err, c.err)
			}
			found := collect(t, s.admin, pgx.RowTo[string], lotsSQL, s.workshop)
			if diff := cmp.Diff(c.want, found); diff != "" && len(c.want)+len(found) > 0 {
				t.Errorf("lots (-expected +found):\n%s", diff)
			}
			s.mustBeSound(t)
			s.mustAnswerAgain(t, key, c.act, done, err)
		})
	}
}

// What an inspection says is kept as it was said.
func TestAnInspectionIsRecorded(t *testing.T) {
	s := openShop(t)
	s.must(t, receive("seal", "A", 5))
	e := inspect("seal", "A", inventory.NewDate(2027, 3, 30))
	s.must(t, e)
	found := collect(t, s.admin, pgx.RowTo[string], `SELECT concat_ws(' / ', item, lot, new_lot, inspected_on, inspected_by, note, until)
		FROM circlip.inspection WHERE workshop = $1`, s.workshop)
	want := []string{"seal / A / A inspected / 2026-03-04 / Ann / no cracks / 2027-03-30"}
	if diff := cmp.Diff(want, found); diff != "" {
		t.Errorf("inspections (-expected +found):\n%s", diff)
	}
}

// The answer tells both ends, and which jobs' parts went along; whoever came
// last still loses first.
func TestAnInspectionKeepsTheOrderOfTheJobs(t *testing.T) {
	s := openShop(t)
	s.must(t, receive("seal", "A", 9))
	for _, job := range []string{"M", "A", "Z"} {
		s.must(t, db.SetAside{Job: job, On: day(2), Lines: []db.Line{{Item: "seal", Qty: 2}}})
	}
	done := s.must(t, inspect("seal", "A", inventory.NewDate(2027, 3, 30)))
	want := db.Done{
		Moved: []db.Moved{
			{Seq: 2, Movement: inventory.Movement{Item: "seal", Lot: "A", From: inventory.Shelf, To: inventory.Relotted, Ref: "inspected", Qty: 9, HappenedOn: day(4)}},
			{Seq: 1, Movement: inventory.Movement{Item: "seal", Lot: "A inspected", From: inventory.Relotted, To: inventory.Shelf, Ref: "inspected", Qty: 9, HappenedOn: day(4)}},
		},
		Kept: []db.Kept{
			{Item: "seal", Lot: "A", Job: "A", Qty: -2}, {Item: "seal", Lot: "A", Job: "M", Qty: -2}, {Item: "seal", Lot: "A", Job: "Z", Qty: -2},
			{Item: "seal", Lot: "A inspected", Job: "A", Qty: 2}, {Item: "seal", Lot: "A inspected", Job: "M", Qty: 2}, {Item: "seal", Lot: "A inspected", Job: "Z", Qty: 2},
		},
	}
	sortDone(&done)
	if diff := cmp.Diff(want, done); diff != "" {
		t.Errorf("answer (-expected +found):\n%s", diff)
	}
	done = s.must(t, db.Waste{Item: "seal", Qty: 6, On: day(5)})
	if diff := cmp.Diff([]db.Kept{{Item: "seal", Lot: "A inspected", Job: "Z", Qty: -2}, {Item: "seal", Lot: "A inspected", Job: "A", Qty: -1}}, done.Kept); diff != "" {
		t.Errorf("given back (-expected +found):\n%s", diff)
	}
}

// A lot's name stays within the 64 characters that a book's code may have.
func TestALongNameIsCut(t *testing.T) {
	s := openShop(t)
	long := strings.Repeat("ä", 64)
	s.must(t, receive("oil", long, 900))
	for range 2 {
		s.must(t, db.OpenContainer{Item: "oil", Lot: long, Qty: 10, Until: day(20), On: day(4)})
	}
	s.must(t, place(long, db.PlaceLine{Item: "seal", Packs: 2, PackQty: 1}))
	s.must(t, deliver(long, db.DeliverLine{Item: "seal", Packs: 1, Qty: 1}))
	s.must(t, deliver(long, db.DeliverLine{Item: "seal", Packs: 1, Qty: 1, Expires: day(9)}))
	want := []standing{
		{"oil", strings.Repeat("ä", 44) + " opened 2026-03-04-2", 10, 0},
		{"oil", strings.Repeat("ä", 46) + " opened 2026-03-04", 10, 0},
		{"oil", long, 880, 0},
		{"seal", strings.Repeat("ä", 62) + "-2", 1, 0},
		{"seal", long, 1, 0},
	}
	if diff := cmp.Diff(want, s.standing(t)); diff != "" {
		t.Errorf("shelf (-expected +found):\n%s", diff)
	}
	s.mustBeSound(t)
}

func TestWhatGoesOnNowhereIsNotSent(t *testing.T) {
	s := openShop(t)
	kit := func(spoil func(*db.OpenKit)) db.OpenKit { k := openKit("", 1); spoil(&k); return k }
	extend := func(spoil func(*db.Extend)) db.Extend { e := inspect("seal", "A", day(30)); spoil(&e); return e }
	container := func(spoil func(*db.OpenContainer)) db.OpenContainer {
		o := db.OpenContainer{Item: "oil", Lot: "drum", Qty: 10, Until: day(20), On: day(4)}
		spoil(&o)
		return o
	}
	s.mustNotSend(t, map[string]db.Act{
		"no kit named":               kit(func(k *db.OpenKit) { k.Kit = "" }),
		"no kits":                    kit(func(k *db.OpenKit) { k.Qty = 0 }),
		"kits without a day":         kit(func(k *db.OpenKit) { k.On = 0 }),
		"kits without parts":         kit(func(k *db.OpenKit) { k.Parts = nil }),
		"a part twice":               kit(func(k *db.OpenKit) { k.Parts = append(k.Parts, k.Parts[0]) }),
		"a part without a name":      kit(func(k *db.OpenKit) { k.Parts[0].Item = "" }),
		"none of a part":             kit(func(k *db.OpenKit) { k.Parts[0].Qty = 0 }),
		"a part at less than zero":   kit(func(k *db.OpenKit) { k.Parts[0].UnitCost = -1 }),
		"an inspection of no item":   extend(func(e *db.Extend) { e.Item = "" }),
		"an inspection of no lot":    extend(func(e *db.Extend) { e.Lot = "" }),
		"an inspection by nobody":    extend(func(e *db.Extend) { e.By = "" }),
		"an inspection on no day":    extend(func(e *db.Extend) { e.On = 0 }),
		"good until the day before":  extend(func(e *db.Extend) { e.Until = e.On }),
		"a container of no item":     container(func(o *db.OpenContainer) { o.Item = "" }),
		"a container of no lot":      container(func(o *db.OpenContainer) { o.Lot = "" }),
		"an empty container":         container(func(o *db.OpenContainer) { o.Qty = 0 }),
		"a container opened no day":  container(func(o *db.OpenContainer) { o.On = 0 }),
		"a container good for never": container(func(o *db.OpenContainer) { o.Until = 0 }),
	})
}

func TestWhatCannotGoOnReadsAsASentence(t *testing.T) {
	s := openShop(t)
	s.must(t, receive("kit", "K", 1))
	s.must(t, receive("seal", "A", 1))
	s.must(t, inspect("seal", "A", day(31)))
	s.must(t, receive("oil", "drum", 100))
	s.must(t, db.OpenContainer{Item: "oil", Lot: "drum", Qty: 50, Until: day(20), On: day(4)})
	tooMany := openKit("", 1)
	tooMany.Parts[0].Qty = 3
	for want, act := range map[string]db.Act{
		"open kit: item kit: short: found 1 ea, expected 2 ea":                                                                        openKit("", 2),
		"open kit: item seal: conflict: found 3 ea in each kit kit, expected at most 2 ea":                                            tooMany,
		"open kit: item oil: not found: the kit kit holds none of it":                                                                 db.OpenKit{Kit: "kit", Qty: 1, On: day(4), Parts: []db.KitShare{{Item: "oil", Qty: 1}}},
		"extend: item seal lot A inspected: conflict: it was inspected on 2026-03-04; a lot goes on once":                             inspect("seal", "A inspected", inventory.NewDate(2027, 1, 1)),
		"extend: item seal lot A: conflict: nothing of it is on the shelf":                                                            inspect("seal", "A", inventory.NewDate(2027, 1, 1)),
		"extend: item oil lot drum: conflict: it expires on 2026-03-30, found 2026-03-20, expected a later day":                       inspect("oil", "drum", day(20)),
		"open container: item oil lot drum: short: found 5 ml, expected 6 ml":                                                         db.OpenContainer{Item: "oil", Lot: "drum", Qty: 60, Until: day(20), On: day(4)},
		"open container: item oil lot drum opened 2026-03-04: conflict: it is open since 2026-03-04":                                  db.OpenContainer{Item: "oil", Lot: "drum opened 2026-03-04", Qty: 1, Until: day(20), On: day(4)},
		"reverse: item oil lot drum movement 2: conflict: it is one end of stock that went on as something else; count what is there": db.Reverse{Item: "oil", Lot: "drum", Seq: 2, On: day(5)},
	} {
		if _, err := s.Do(t.Context(), s.workshop, uuid.New(), act); err == nil || err.Error() != want {
			t.Errorf("found %q, expected %q", err, want)
		}
	}
}
