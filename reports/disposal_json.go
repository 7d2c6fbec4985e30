package reports

import (
	"circlip/inventory"
	"circlip/inventory/audit"
)

// spentJSON is a stream of a month, see audit.Spent; counted_to null: no count
// tells what was drawn in it. The share is of 1.
type spentJSON struct {
	Stream       string   `json:"stream"`
	From         string   `json:"from"`
	To           string   `json:"to"`
	CountedTo    *string  `json:"counted_to"`
	DrawnML      float64  `json:"drawn_ml"`
	GatheredML   float64  `json:"gathered_ml"`
	HandedOverML float64  `json:"handed_over_ml"`
	HeldML       float64  `json:"held_ml"`
	DrawnG       float64  `json:"drawn_g"`
	GatheredG    float64  `json:"gathered_g"`
	HandedOverG  float64  `json:"handed_over_g"`
	HeldG        float64  `json:"held_g"`
	WithoutML    int      `json:"without_volume"`
	WithoutG     int      `json:"without_weight"`
	Share        *float64 `json:"share_gathered"`
}

// disposalRecordJSON is one record of the book's table disposals.
type disposalRecordJSON struct {
	Date     string   `json:"date"`
	Number   int      `json:"number"`
	Stream   string   `json:"stream"`
	VolumeML *float64 `json:"volume_ml"`
	WeightG  *float64 `json:"weight_g"`
	Carrier  *string  `json:"carrier"`
	Document *string  `json:"document"`
	Note     *string  `json:"note"`
}

// DisposalJSON is what became of spent fluids: streams by month, and every
// record of what was gathered and handed over.
func DisposalJSON(spent []audit.Spent, shop inventory.Shop) ([]byte, error) {
	document := struct {
		documentHead
		Streams    []spentJSON          `json:"streams"`
		HandedOver []disposalRecordJSON `json:"handed_over"`
		Gathered   []disposalRecordJSON `json:"gathered"`
	}{documentHead{shop.AsOf.String(), shop.Settings.Workshop, schema}, []spentJSON{}, []disposalRecordJSON{}, []disposalRecordJSON{}}
	for _, m := range spent {
		document.Streams = append(document.Streams, spentDocument(m))
	}
	for _, d := range shop.Disposals {
		r := disposalRecordJSON{
			d.Date.String(), d.Number, string(d.Stream), d.VolumeML, d.WeightG,
			textOrNull(d.Carrier), textOrNull(d.Document), textOrNull(d.Note),
		}
		if d.HandedOver {
			document.HandedOver = append(document.HandedOver, r)
		} else {
			document.Gathered = append(document.Gathered, r)
		}
	}
	return encode("disposal", document)
}

func spentDocument(m audit.Spent) spentJSON {
	s := spentJSON{
		Stream: string(m.Stream), From: m.From.String(), To: m.To.String(), CountedTo: dayOrNull(m.CountedTo),
		DrawnML: number(m.DrawnML), GatheredML: number(m.GatheredML), HandedOverML: number(m.HandedOverML), HeldML: number(m.HeldML),
		DrawnG: number(m.DrawnG), GatheredG: number(m.GatheredG), HandedOverG: number(m.HandedOverG), HeldG: number(m.HeldG),
		WithoutML: m.WithoutML, WithoutG: m.WithoutG,
	}
	if share := shareGathered(m); !share.Blank() {
		s.Share = bounded(share.Number())
	}
	return s
}
