package campaign

// Wall is how an example is run on the wall clock.
type Wall struct{}

func (p *Plan) wallRun(c *Case) error { return nil }
