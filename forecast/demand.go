package forecast

// Line is what one service takes of one item: the quantity's law in the
// item's smallest steps (see Around), with probability Need.
type Line struct {
	Item int     // the caller's number of the item
	Need float64 // probability that a job takes it at all
	Size PMF     // how much it takes then
}

// Bill names a service done on a model.
type Bill struct {
	Service, Model int
}

// Bills holds the lines of the bill of materials of every service and model.
type Bills map[Bill][]Line
