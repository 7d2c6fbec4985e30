package reports

import (
	"fmt"
	"strings"

	"circlip/forecast/learn"
	"circlip/inventory"
	"circlip/reports/lessons"
	"circlip/reports/plan"
)

// What a figure rests on, in words. All sentences of explanations that depend
// on how much was seen are made here.

// notLearnt is said of every figure where learning is off.
const notLearnt = "not learnt (learn = no); the book's figure stands."

// basisWords says what a figure rests on that was seen so many times.
func basisWords(b learn.Basis, seen string) string {
	switch b {
	case learn.FromBook:
		return "nothing was seen yet, so that the book's figure stands."
	case learn.TooFew:
		return seen + ", too few to leave the book's figure."
	case learn.Borrowed:
		return seen + ", too few to tell by itself: mostly the figure of its family."
	}
	return seen + ", taken together with the book's figure."
}

// shareWords tells of a share that was seen so: "38 of 40 jobs took it".
func shareWords(s learn.Share, of, did string) string {
	if s.Basis() == learn.FromBook {
		return basisWords(learn.FromBook, "")
	}
	return fmt.Sprintf("%d of %d %s %s. The book's %s counts like %s more.",
		s.Yes, s.Yes+s.No, of, did, percent(s.PriorMean), says(s.PriorWeight, 0))
}

// waitWords tells of the weeks that a unit which is due takes to come.
func waitWords(w learn.Waited) string {
	seen := fmt.Sprintf("%s seen, of %s weeks on average", plural(w.Waits, "wait was", "waits were"), says(w.Mean, 1))
	words := basisWords(w.Basis, seen)
	if w.Basis == learn.Learnt {
		words += " Waits so long that the service might have been done elsewhere meanwhile are not seen, and are allowed for."
	}
	return words
}

// leadWords tells of a supplier's days.
func leadWords(l learn.Lead) string {
	if l.Basis == learn.FromBook {
		return basisWords(l.Basis, "")
	}
	words := plural(l.Receipts, "delivery was", "deliveries were") + " seen; as if 10 more had come on time, they come " + lateWords(l.Late) + " on average."
	if l.Basis == learn.TooFew {
		words += " That is too few to tell more than how late they are on average: the quoted days are shifted by it."
	}
	if l.LeftOut > 0 {
		words += fmt.Sprintf(" Left out: %s before the order was placed.", plural(l.LeftOut, "that came", "that came"))
	}
	return words + fmt.Sprintf(" Half come within %d days, nine of ten within %d.", l.Quantile(0.5), l.Quantile(0.9))
}

func lateWords(days float64) string {
	if days < 0 {
		return says(-days, 1) + " days before the quoted day"
	}
	return says(days, 1) + " days after the quoted day"
}

// returnWords tells of units without a meter that come back.
func returnWords(r learn.Renewal) string {
	seen := fmt.Sprintf("of %s on units without a meter %d came back so far", plural(r.Gaps, "job", "jobs"), r.Back)
	switch r.Basis {
	case learn.FromBook:
		return "no unit without a meter had it yet: common practice stands."
	case learn.TooFew:
		return seen + fmt.Sprintf(", which is little: its own past decides %s, the rest is common practice.", percent(r.Own))
	case learn.Borrowed:
		return seen + fmt.Sprintf("; its own past decides %s, the rest is that of its family.", percent(r.Own))
	}
	return seen + fmt.Sprintf("; its own past decides %s. Those that may still come back are allowed for.", percent(r.Own))
}

// usageWords tells of a unit's hours a week.
func usageWords(u learn.Usage, group string) string {
	mean := fmt.Sprintf("the mean of %s, %s h a week by the readings of %s", group, says(u.GroupMean, 1), plural(u.GroupUnits, "unit", "units"))
	words := ""
	switch {
	case !u.Known:
		words = "nothing is known of its hours: no hours_per_week, no two readings, and no group that has either. Only the calendar makes it due."
	case u.Given:
		words = "the planner gave it in the book, and it is taken as it is."
	case u.OwnWeight <= 0 || u.OwnWeeks <= 0:
		words = "it has no two readings of its own to tell by: " + mean + "."
	default:
		words = fmt.Sprintf("its own readings say %s h in %s season-weighted weeks, %s h a week, and count for %s; the rest is %s.",
			says(float64(u.OwnHours), 0), says(float64(u.OwnWeeks), 1), says(float64(u.OwnHours)/float64(u.OwnWeeks), 1), percent(u.OwnWeight), mean)
	}
	return words + leftOutWords(u.LeftOut)
}

// leftOut are the reasons not to learn from a reading, in their order.
var leftOut = map[learn.Reason]string{
	learn.NoNumber:  "%d that are no number",
	learn.SameDay:   "%d that a later one of the same day replaces",
	learn.Fall:      "%d where the meter fell without a reset",
	learn.Jump:      "%d where it gained more hours than had passed",
	learn.OffSeason: "%d where it gained hours in weeks in which nobody rides",
}

// leftOutWords is blank where every reading was learnt from.
func leftOutWords(l learn.LeftOut) string {
	var texts []string
	for reason, n := range l {
		if n > 0 {
			texts = append(texts, fmt.Sprintf(leftOut[learn.Reason(reason)], n))
		}
	}
	if len(texts) == 0 {
		return ""
	}
	return " Readings left out: " + strings.Join(texts, ", ") + "."
}

// bareRateWords tells where hours a week come from if nothing is learnt.
func bareRateWords(u inventory.Unit) string {
	if u.HoursPerWeek != nil {
		return notLearnt
	}
	return "not learnt (learn = no): the book gives none, so that it is what its readings come to, else the mean of its group; 0 where there is neither."
}

// spreadWords tells how unevenly the units of a group are ridden.
func spreadWords(g lessons.Group) string {
	return fmt.Sprintf("how unevenly units are ridden: the variance of hours over their mean, 0 where every week is alike. By %s between readings of its group; the book's figure counts for %s.",
		says(float64(g.Increments), 0)+oneMany(g.Increments, " time", " times"), percent(g.SpreadPrior))
}

// seasonWords tells where the season comes from.
func (b explainer) seasonWords() string {
	switch b.lessons.Seasons {
	case lessons.FromBook:
		return "the book's table; 1 is the mean of the year."
	case lessons.FromReadings:
		r := b.lessons.Riding
		return fmt.Sprintf("learnt from %s between readings of %s, which bound %s and tell of %d weeks of the year; 1 is the mean of the year.",
			plural(r.Increments, "time", "times"), plural(r.Units, "unit", "units"), plural(r.Days, "day", "days"), r.Weeks)
	}
	if b.lessons.On {
		return "every week counts alike: the book has no table, and the readings cover less than a year."
	}
	return "every week counts alike: the book has no table."
}

// loyalWords tells why a unit is held to come, or not to.
func loyalWords(l lessons.Loyal) string {
	if l.Here+l.Between+l.Since == 0 {
		return fmt.Sprintf("it was never due yet, so that it is held to be like the others of its kind: %s that it is one of those that come at all, and %s for those at each due service.", percent(l.Stays), percent(l.Comes))
	}
	return fmt.Sprintf("it came %s when due; it must have been served elsewhere %s in between, and %s since it was last here. While it stays it comes with %s; that it stays has a chance of %s.",
		plural(l.Here, "time", "times"), plural(l.Between, "time", "times"), plural(l.Since, "time", "times"), percent(l.Comes), percent(l.Stays))
}

// habitWords tells how surely the units of a holder come.
func (b explainer) habitWords(h inventory.Holder) string {
	habit := b.lessons.Habits[h]
	due := habit.Here + habit.Elsewhere
	if due == 0 {
		return basisWords(learn.FromBook, "")
	}
	seen := fmt.Sprintf("%s came due: %d done here, %d that must have been done elsewhere", plural(due, "service", "services"), habit.Here, habit.Elsewhere)
	if !habit.Learnt {
		return basisWords(learn.TooFew, seen)
	}
	return seen + fmt.Sprintf(". The figure is that of a %s of which nothing is known yet; one that was due before has its own.", holders[h].unit)
}

// aheadWords tells how long before its day a job is booked.
func aheadWords(a learn.Ahead) string {
	if a.Basis == learn.FromBook {
		return "no such job was seen yet: all are taken to be booked on their day."
	}
	words := fmt.Sprintf("of %s: %s more than a day ahead, %s more than 2 weeks, %s more than 4.", plural(a.Jobs, "job", "jobs"),
		percent(a.Beyond(1)), percent(a.Beyond(14)), percent(a.Beyond(28)))
	if a.Basis == learn.TooFew {
		words += " Few were seen, so that the curve is drawn through their mean."
	}
	return words
}

// walkInWords tells how a rate of walk-ins is reckoned, and why so.
func walkInWords(w lessons.WalkIn) string {
	words := fmt.Sprintf("%d counted in %s; it rests on %s. ", w.Total, plural(w.Periods, "week", "weeks"), w.Basis)
	scores := bestScores(w)
	if len(scores) == 0 {
		return words + fmt.Sprintf("The method is %s; the past is too short to judge others by.", w.Method)
	}
	return words + fmt.Sprintf("The method is %s, chosen by how well each would have told the past, here and in its family. Its score here (mean ranked probability score from %s of the past, less is better, each method at its best): %s.",
		w.Method, plural(w.Origins, "point", "points"), strings.Join(scores, ", "))
}

// bestScores is what each method was worth at its best, in their order. A
// method is judged with several memories.
func bestScores(w lessons.WalkIn) []string {
	var names []string
	best := map[string]float64{}
	for _, s := range w.Scores {
		name := s.Method.String()
		was, met := best[name]
		switch {
		case s.RPS <= 0:
		case !met:
			names = append(names, name)
			best[name] = s.RPS
		default:
			best[name] = min(was, s.RPS)
		}
	}
	for at, name := range names {
		names[at] = name + " " + says(best[name], 4)
	}
	return names
}

// clockWords tells how far a clock is read and how far reckoned.
func clockWords(c plan.Clock, read inventory.Date) string {
	switch {
	case c.DoneOn > read:
		return fmt.Sprintf("counted from %s, reckoned by its hours a week: the meter was read before that, on %s.", c.DoneOn, read)
	case c.Hours == c.HoursToday:
		return fmt.Sprintf("counted from %s, as the meter said on %s.", c.DoneOn, read)
	}
	return fmt.Sprintf("counted from %s; the meter said %s on %s, the rest is reckoned by its hours a week.", c.DoneOn, hours.write(&c.Hours), read)
}
