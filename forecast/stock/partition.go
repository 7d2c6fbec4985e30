package stock

// partition sorts scenarios into numbered groups.
type partition struct {
	of []int32
	n  int
}

// refine splits the groups by a value of each scenario, zero or more. New
// groups are numbered in the order in which they are met, by a table where
// groups × values are few enough, else by a map that gives the same numbers.
func (p *partition) refine(values []int) {
	most := 0
	for _, v := range values {
		most = max(most, v)
	}
	if most == 0 {
		return
	}
	if cells := p.n * (most + 1); cells <= 1<<20 {
		p.refineByTable(values, most+1)
		return
	}
	p.refineByMap(values)
}

// refineByTable looks groups up by group and value; values are below width.
func (p *partition) refineByTable(values []int, width int) {
	seen := make([]int32, p.n*width) // group + 1
	n := int32(0)
	for i, v := range values {
		cell := &seen[int(p.of[i])*width+v]
		if *cell == 0 {
			n++
			*cell = n
		}
		p.of[i] = *cell - 1
	}
	p.n = int(n)
}

// refineByMap does the same for values that are many and far apart.
func (p *partition) refineByMap(values []int) {
	type key struct {
		group int32
		value int
	}
	seen := make(map[key]int32)
	for i, v := range values {
		k := key{p.of[i], v}
		group, ok := seen[k]
		if !ok {
			group = int32(len(seen))
			seen[k] = group
		}
		p.of[i] = group
	}
	p.n = len(seen)
}
