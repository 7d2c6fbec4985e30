package audit

func (a *ItemAudit) changes(from attribution) []Change { return nil }
