package inventory

// JobsThatUse lists by item the open jobs that may take some of it, by bench
// date: those that could still use a lot which is about to expire. A job takes
// what its bill of materials holds on its bench date, with whatever
// probability above zero. Jobs dated before AsOf count as of AsOf.
func JobsThatUse(shop Shop) map[string][]Job {
	bill := NewBill(shop)
	users := map[string][]Job{}
	for _, job := range openJobs(shop) {
		listed := map[string]bool{}
		for _, l := range bill.Lines(job.Services, job.Model, max(job.BenchDate, shop.AsOf)) {
			if l.Need > 0 && !listed[l.Item] {
				listed[l.Item] = true
				users[l.Item] = append(users[l.Item], job)
			}
		}
	}
	return users
}
