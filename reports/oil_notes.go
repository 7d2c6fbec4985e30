package reports

import (
	"fmt"

	"circlip/inventory/audit"
)

// OilNotes says how each figure of the audit is reckoned, and from which source.
func OilNotes(a audit.Audit) Sheet {
	s := Sheet{
		Key: thingsOf(a.Scope).key + " notes", Name: "How", Title: oilTitle("How each figure is reckoned", a),
		Notes:   []string{"The arithmetic with its sources, for whoever wants to check a figure."},
		Columns: []Column{{Name: "Figure"}, {Name: "How it is reckoned", Wrap: true}, {Name: "Source", Wrap: true}},
		Empty:   "No figure is reckoned.",
		Remarks: []string{fluidCaution},
	}
	limits := audit.ChartLimits()
	chart := fmt.Sprintf("EWMA with λ = %g and %g of its own standard deviations either way, CUSUM with k = %g and h = %g above, %g below, one period alone beyond %g. Where nothing is amiss they together signal once in about %.0f periods.", limits.Lambda, limits.Width, limits.K, limits.H, limits.HLow, limits.Alone, limits.RunLength)
	for _, n := range append(oilNotes, [3]string{"Limits of the charts", chart, "of each alone: integral equations (Page 1954, Crowder 1987); of all together: simulation"}) {
		s.Rows = append(s.Rows, Row{Cells: []Cell{Words(n[0]), Words(n[1]), Words(n[2])}})
	}
	return s
}

// fluidCaution stands wherever used oil or solvent is spoken of.
const fluidCaution = "Amounts only. How used oil, grease and solvent are stored, labelled, kept apart and handed over is for local rules and the carrier to say; this permits nothing."

// oilNotes are the figures in the order in which they follow from each other.
var oilNotes = [][3]string{
	{"Drawn", "opening + received + other - closing, between two counts", "the movements on record"},
	{"Standard", "quantity × (1 + waste) × need of the bill's lines in force, over the jobs done in the period", "the bill of materials"},
	{"Recorded", "what the job cards say was used or spoiled", "the job cards"},
	{"Unrecorded", "drawn - recorded; ± is that of both counts and of what the cards leave open", "definition"},
	{"Over standard", "recorded - standard; ± is how far jobs stray from the bill by chance; cards copied from the bill show less", "definition"},
	{"Weighed volume", "(gross - tare) / density at the fluid's temperature; density at 15 °C corrected by exp(-α·Δt·(1 + 0.8·α·Δt)), α = K1 / density", "ASTM D1250 / API MPMS 11.1, Table 54D, K1 = 0.6278"},
	{"Sigma", "root of the squared spreads of the jobs and of the two counts: scale, temperature, marks", "sum of variances"},
	{"z and score", "excess / sigma; the score also takes in how much the periods before spread", "self-starting charts, Hawkins 1987, Quesenberry 1991"},
	{"EWMA", "λ × score + (1 - λ) × the EWMA before, from 0", "NIST/SEMATECH e-Handbook 6.3.2.4"},
	{"CUSUM", "what the scores exceed k by, added up, never below 0; one sum either way", "NIST/SEMATECH e-Handbook 6.3.2.3"},
	{"A loss that would be seen", fmt.Sprintf("the steady loss that the charts signal within %d counts on average, in the item's own spread", seenWithin), "run lengths as under Limits of the charts"},
	{"Since", "the period from which the scores are likeliest to have had another mean", "change point by maximum likelihood, Samuel, Pignatiello and Calvin 1998"},
	{"Estimated", "non-negative least squares of what was drawn on what the bill allows the jobs of each, with bootstrap intervals", "Lawson and Hanson 1974, ch. 23; Efron 1979"},
	{"Explains it best", "probability among each service, model and person alone, all jobs alike, and the same amount a week, each as likely before", "Bayes' rule"},
	{"Cost", "quantity × what one costs now, rounded once to the currency's smallest unit", "the usual offer, for few packs"},
}
