package main

type judgeCommand struct{}

func (judgeCommand) Run(c *console) error { return nil }
