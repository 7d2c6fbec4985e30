package reports

import (
	"fmt"
	"math"
	"slices"

	"circlip/inventory/audit"
)

// explains says where the difference of an episode stands in the cards, and
// what explains it best.
func explains(a audit.Audit, of audit.ItemAudit, e audit.Episode) string {
	text := onCards(of, e)
	if of.Blame != nil {
		text += "; " + blamed(a, of, *of.Blame)
	}
	return text
}

// onCards says how much of an episode stands on job cards. What one count alone
// was off by is no part of it.
func onCards(of audit.ItemAudit, e audit.Episode) string {
	var unrecorded, excess float64
	for i := e.Start; i <= e.End; i++ {
		if isOnce(of, i) {
			continue
		}
		unrecorded += float64(of.Periods[i].Unrecorded())
		excess += float64(of.Periods[i].Excess())
	}
	share := 0.0
	if excess != 0 {
		share = unrecorded / excess
	}
	low := e.Direction == audit.Low
	switch {
	case share > 2.0/3 && low:
		return "the job cards do not show it"
	case share > 2.0/3:
		return "most of it on no job card"
	case share < 1.0/3 && low:
		return "the job cards say less too"
	case share < 1.0/3:
		return "most of it on the job cards, beyond the bill"
	}
	return "in part on the job cards, in part on none"
}

// blamed names what explains an episode best, with its probability among all
// candidates.
func blamed(a audit.Audit, of audit.ItemAudit, b audit.Blame) string {
	if with, alike := goesWith(of, b); alike {
		return fmt.Sprintf("%s and %s, which the counts cannot tell apart, explain it best %s", theService(a, b.Code), theService(a, with), odds(b.Prob+b.RunProb))
	}
	if b.Prob < 0.5 {
		return firstOfMany(a, b)
	}
	switch b.By {
	case audit.ByService:
		return theService(a, b.Code) + " explains it best " + odds(b.Prob)
	case audit.ByModel:
		return "work on " + modelCalled(a, b.Code) + " explains it best " + odds(b.Prob)
	case audit.ByPerson:
		return fmt.Sprintf("the jobs of %s took about %s %s each %s than the bill %s; that says how much, not why",
			b.Code, roughly(math.Abs(b.Extra)), of.Item.Measure, moreOrLess(b.Extra < 0), odds(b.Prob))
	case audit.ByAll:
		return fmt.Sprintf("all jobs alike take %s than the bill says %s", moreOrLess(b.Extra < 0), odds(b.Prob))
	}
	return "it is the same amount a week whatever jobs are done " + odds(b.Prob)
}

// firstOfMany names what comes first where nothing explains an episode well.
func firstOfMany(a audit.Audit, b audit.Blame) string {
	const first, well = "no one thing explains it well; first ", " comes first, and no one thing explains it well "
	switch b.By {
	case audit.ByService:
		return theService(a, b.Code) + well + odds(b.Prob)
	case audit.ByModel:
		return "work on " + modelCalled(a, b.Code) + well + odds(b.Prob)
	case audit.ByPerson:
		return first + "come the jobs of " + b.Code + " " + odds(b.Prob) + ", which is no proof"
	case audit.ByAll:
		return first + "come all jobs alike " + odds(b.Prob)
	}
	return first + "comes the same amount a week whatever jobs are done " + odds(b.Prob)
}

// runnerUp is the service that is likeliest next, where the first is not clear
// of it.
func runnerUp(a audit.Audit, of audit.ItemAudit) string {
	b := of.Blame
	if _, open := lasting(of); !open || b == nil || b.RunUp == "" || b.Prob >= 0.8 || b.RunProb < worthNaming {
		return ""
	}
	if _, alike := goesWith(of, *b); alike {
		return ""
	}
	return fmt.Sprintf(" Next comes %s %s.", theService(a, b.RunUp), odds(b.RunProb))
}

// worthNaming is from which probability on what comes next is named.
const worthNaming = 0.05

// goesWith is the service that comes next, where the counts cannot tell the one
// that comes first from it.
func goesWith(of audit.ItemAudit, b audit.Blame) (service string, alike bool) {
	return b.RunUp, b.By == audit.ByService && b.RunUp != "" && b.RunProb >= worthNaming && slices.ContainsFunc(of.Alike, func(pair audit.Alike) bool {
		return pair.By == audit.ByService && (pair.A == b.Code && pair.B == b.RunUp || pair.A == b.RunUp && pair.B == b.Code)
	})
}

// odds is a probability as one says it; nothing is certain.
func odds(p float64) string {
	if p >= 0.995 {
		return "(more than 99 in 100)"
	}
	return fmt.Sprintf("(%.0f in 100)", 100*p)
}
