package stock

import "slices"

// EveryLevel visits every choice of packs from none to some number of each
// item on top of a position, with its readiness: Readiness for many levels at
// once, by plain products and none of a walk's short cuts.
func (j *Joint) EveryLevel(from, most []int, visit func(packs []int, readiness float64)) {
	tables := make([]chances, len(most))
	for i, n := range most {
		if j.demands[i] == nil {
			continue
		}
		levels := make([]int, n+1)
		for k := range levels {
			levels[k] = from[i] + k*j.problem.Items[i].Pack
		}
		tables[i] = j.demands[i].chances(levels)
	}
	ready := make([][]float64, len(j.rows))
	jobs := sum(j.alwaysN)
	for r, row := range j.rows {
		ready[r] = row.weight
		jobs += sum(row.weight)
	}
	packs := make([]int, len(most))
	var choose func(i int, ready [][]float64)
	choose = func(i int, ready [][]float64) {
		if i == len(most) {
			all := sum(j.alwaysN)
			for _, r := range ready {
				all += sum(r)
			}
			visit(packs, all/jobs)
			return
		}
		for packs[i] = 0; packs[i] <= most[i]; packs[i]++ {
			choose(i+1, j.held(ready, tables[i], i, packs[i]))
		}
		packs[i] = 0
	}
	choose(0, ready)
}

// held is the ready jobs after an item is held to one of its levels.
func (j *Joint) held(ready [][]float64, table chances, item, level int) [][]float64 {
	next := slices.Clone(ready)
	for r, row := range j.rows {
		for _, part := range row.parts {
			if part.item != item {
				continue
			}
			next[r] = slices.Clone(next[r])
			for k, v := range part.vector {
				next[r][k] *= table.patterns[part.pattern][int(v)*table.levels+level]
			}
		}
	}
	return next
}

// Waits says whether any job waits for an item.
func (j *Joint) Waits(item int) bool {
	for _, row := range j.rows {
		for _, part := range row.parts {
			if part.item == item {
				return true
			}
		}
	}
	return false
}
