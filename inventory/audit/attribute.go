package audit

// attribute fills in what explains an item's periods: estimates, blame, what is
// alike, changes of the bill.
func (a *ItemAudit) attribute(attribution) {}
