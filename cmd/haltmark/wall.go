package main

import "haltmark/bench/campaign"

func (ch *chosen) onTheWall(plan *campaign.Plan) error { return nil }
