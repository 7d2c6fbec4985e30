package forecast

// comeIn takes what is due to the bench: after a geometric number of whole
// weeks, for the job it is due for or what has become due above it by then.
func (s *step) comeIn() {
	for job, due := range s.due {
		if due == nil {
			continue
		}
		choose := s.chooser(job, true)
		s.fromSteps(due, choose)
		if s.front.instant != nil {
			s.fromHold(due, choose)
		}
	}
}

// fromSteps brings in what became due in a step of the lattice.
func (s *step) fromSteps(due *pool, choose *chooser) {
	come := s.floats(due.cells.cols)
	for p := 1; p < len(s.lat.points); p++ {
		row := due.cells.row(p)
		if weight(row) < leastCell {
			continue
		}
		clear(come)
		addScaled(come, row, 1-s.again)
		s.settle(s.visits, choose, p, p, s.lat.points[p].week, due.cells.low, come)
		if next := p + s.lat.perWeek; s.again > 0 && next < len(s.lat.points) {
			s.ride(due.tracked, due.cells.row(next), row, s.again, s.lat.points[p].tauLag)
		}
	}
}

// fromHold brings in what was due on the hold day, which need not end a step.
func (s *step) fromHold(due *pool, choose *chooser) {
	held := due.cells.row(s.held())
	if total(held) == 0 {
		return
	}
	// The hold day itself is ridden before its end.
	hold := s.front.instant.hold
	wait := s.floats(len(held))
	s.ride(due.tracked, wait, held, 1, float64(s.lat.cal.Tau(hold, hold+1)))
	come := s.floats(len(held))
	for day := hold; day < s.lat.cal.End(); day += 7 {
		week := s.lat.cal.WeekOf(day)
		first, parts := s.lat.blunt(float64(day + 1))
		for i, part := range parts {
			if part == 0 {
				continue
			}
			clear(come)
			addScaled(come, wait, (1-s.again)*part)
			s.settle(s.visits, choose, s.lat.stepOf(float64(day)), first+i, week, due.cells.low, come)
		}
		if s.again == 0 {
			return
		}
		later := s.floats(len(wait))
		s.ride(due.tracked, later, wait, s.again, float64(s.lat.cal.Tau(day, day+7)))
		wait = later
	}
}

// ride adds to out a share of what waits for tau more weeks.
func (s *step) ride(tracked bool, out, in []float64, share, tau float64) {
	if !tracked {
		out[0] += in[0] * share
		return
	}
	hours := s.weekOf(s.shape(tau))
	wide := s.wide(len(in) + len(hours.prob) - 1)
	spreadOut(wide, in, hours.prob)
	// What lies beyond the window counts at its edges.
	first := max(0, -hours.low)
	out[0] += share * total(wide[:first])
	at := max(0, hours.low)
	n := max(0, min(len(wide)-first, len(out)-at))
	addScaled(out[at:at+n], wide[first:first+n], share)
	out[len(out)-1] += share * total(wide[first+n:])
}
