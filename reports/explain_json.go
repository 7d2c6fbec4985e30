package reports

// figureJSON is one figure with what it rests on; null where that does not
// apply. Shares are of 1, all else is in the unit.
type figureJSON struct {
	Figure string   `json:"figure"`
	Of     string   `json:"of"`
	Unit   string   `json:"unit"`
	Book   *float64 `json:"book"`
	Seen   *int     `json:"seen"`
	Now    *float64 `json:"now"`
	Low    *float64 `json:"low"`
	High   *float64 `json:"high"`
	Words  string   `json:"words"`
}

// JSON is the document of `forecast --explain --json`.
func (e Explanation) JSON() ([]byte, error) {
	document := struct {
		documentHead
		Learns  bool         `json:"learns"`
		Explain []figureJSON `json:"explain"`
	}{documentHead{AsOf: e.asOf.String(), Workshop: e.workshop, Schema: schema}, e.learns, []figureJSON{}}
	for _, p := range e.parts {
		for _, f := range p.figures {
			document.Explain = append(document.Explain, figureJSON{
				Figure: f.name, Of: f.of, Unit: f.unit.word,
				Book: rounded(f.book), Seen: f.seen, Now: rounded(f.now), Low: rounded(f.low), High: rounded(f.high), Words: f.words,
			})
		}
	}
	return encode("explain", document)
}

func rounded(x *float64) *float64 {
	if x == nil {
		return nil
	}
	return new(number(*x))
}
