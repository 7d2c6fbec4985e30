package db

import (
	"fmt"
	"math"
	"strings"

	"circlip/inventory"
)

func (b BookJob) check() error {
	if err := checkJob(b.Job, b.On); err != nil {
		return err
	}
	switch {
	case b.Unit == "" && b.Model == "":
		return fmt.Errorf("%w: job %s: neither unit nor model named", inventory.ErrInvalid, b.Job)
	case len(b.Services) == 0:
		return fmt.Errorf("%w: job %s: no services, expected at least one", inventory.ErrInvalid, b.Job)
	}
	if err := checkBench(b.Job, b.On, b.Bench); err != nil {
		return err
	}
	return checkNoted(b.Job, b.Reading, b.Before)
}

func (m MoveJob) check() error {
	if err := checkJob(m.Job, m.On); err != nil {
		return err
	}
	return checkBench(m.Job, m.On, m.Bench)
}

func (c CancelJob) check() error { return checkJob(c.Job, c.On) }

func (s SetAsideAll) check() error {
	if len(s.Jobs) == 0 {
		return fmt.Errorf("%w: no jobs, expected at least one", inventory.ErrInvalid)
	}
	seen := map[string]bool{}
	for _, j := range s.Jobs {
		if seen[j.Job] {
			return fmt.Errorf("%w: job %s twice, expected its lines in one place", inventory.ErrInvalid, j.Job)
		}
		seen[j.Job] = true
		if err := checkLines(j.Job, s.On, j.Lines); err != nil {
			return err
		}
	}
	return nil
}

func (t TakeOver) check() error {
	switch {
	case t.From == "":
		return fmt.Errorf("%w: job %s: no job named to take over from", inventory.ErrInvalid, t.Job)
	case t.From == t.Job:
		return fmt.Errorf("%w: job %s takes over from itself, expected another job", inventory.ErrInvalid, t.Job)
	}
	if err := checkReason(t.Job, t.Reason); err != nil {
		return err
	}
	return Release{Job: t.Job, On: t.On, Lines: t.Lines}.check()
}

func (c CloseJob) check() error {
	if err := checkEach(c.On, c.Used, c.Wasted, c.Back); err != nil {
		return fmt.Errorf("job %s: %w", c.Job, err)
	}
	if err := checkNoted(c.Job, c.Reading, c.After); err != nil {
		return err
	}
	return checkJob(c.Job, c.On)
}

func (c CorrectJob) check() error {
	if len(c.More)+len(c.Less) == 0 {
		return fmt.Errorf("%w: job %s: nothing more and nothing less, expected at least one line", inventory.ErrInvalid, c.Job)
	}
	if err := checkEach(c.On, c.More, c.Less); err != nil {
		return fmt.Errorf("job %s: %w", c.Job, err)
	}
	if err := checkReason(c.Job, c.Reason); err != nil {
		return err
	}
	return checkJob(c.Job, c.On)
}

func checkEach(on inventory.Date, lists ...[]Line) error {
	for _, lines := range lists {
		for _, line := range lines {
			if err := checkLine(line, on); err != nil {
				return err
			}
		}
	}
	return nil
}

func checkReason(job, reason string) error {
	if strings.TrimSpace(reason) == "" {
		return fmt.Errorf("%w: job %s: no reason given", inventory.ErrInvalid, job)
	}
	return nil
}

func checkBench(job string, on, bench inventory.Date) error {
	if bench.IsZero() {
		return fmt.Errorf("%w: job %s: no bench date", inventory.ErrInvalid, job)
	}
	if bench < on {
		return fmt.Errorf("%w: job %s: found bench date %s, expected none before %s", inventory.ErrInvalid, job, bench, on)
	}
	return nil
}

// checkNoted looks at a meter's reading and a unit's settings.
func checkNoted(job string, r *inventory.Reading, s *inventory.Setup) error {
	notNumber := func(x float64) bool { return !(x >= 0) || math.IsInf(x, 1) }
	switch {
	case r != nil && notNumber(r.Hours):
		return fmt.Errorf("%w: job %s: found a meter at %v h, expected 0 or more", inventory.ErrInvalid, job, r.Hours)
	case s != nil && s.AirBar != nil && notNumber(*s.AirBar):
		return fmt.Errorf("%w: job %s: found %v bar of air, expected 0 or more", inventory.ErrInvalid, job, *s.AirBar)
	case s != nil && s.ReboundClicks != nil && *s.ReboundClicks < 0:
		return fmt.Errorf("%w: job %s: found %d clicks of rebound, expected 0 or more", inventory.ErrInvalid, job, *s.ReboundClicks)
	case s != nil && s.VolumeSpacers != nil && *s.VolumeSpacers < 0:
		return fmt.Errorf("%w: job %s: found %d volume spacers, expected 0 or more", inventory.ErrInvalid, job, *s.VolumeSpacers)
	}
	return nil
}
