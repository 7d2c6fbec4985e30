package audit

func (a *ItemAudit) blame(from attribution) *Blame { return nil }
