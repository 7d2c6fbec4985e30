package rehearse

import "circlip/forecast"

// Foresight is a policy that knows all jobs and lead times of a world and
// orders each pack as late as it can. Little can be had for less money by any
// forecast; where deliveries overtake each other it is not quite the least.
func Foresight(w World) Policy {
	needed := w.needed()
	b := newBook(w, Method{Kind: BaseStock})
	return func(m Monday) []int {
		packs := make([]int, len(w.Items))
		for i, it := range w.Items {
			today := int(m.Day - w.First)
			next := today + 7 + w.Suppliers[it.Supplier].OrderWeekday
			until := min(next+w.lead(it.Supplier, w.First+forecast.Day(next), it.LeadDays), w.days())
			missing := needed[i][until] - needed[i][min(today, until)] - m.Position[i]
			if missing > 0 {
				packs[i] = it.sold((missing + it.Pack - 1) / it.Pack)
			}
		}
		b.bringUp(m, packs)
		return packs
	}
}

// needed are the steps that jobs need before each day, by item and day from
// First.
func (w World) needed() [][]int {
	needed := make([][]int, len(w.Items))
	for i := range needed {
		needed[i] = make([]int, w.days()+1)
	}
	for _, job := range w.Jobs {
		for _, t := range job.Takes {
			needed[t.Item][int(job.Day-w.First)+1] += t.Qty
		}
	}
	for _, n := range needed {
		for d := 1; d < len(n); d++ {
			n[d] += n[d-1]
		}
	}
	return needed
}
