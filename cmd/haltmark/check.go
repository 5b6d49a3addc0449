package main

type checkCommand struct{}

func (checkCommand) Run(c *console) error { return nil }
