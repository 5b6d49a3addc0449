package main

type serveCommand struct{}

func (serveCommand) Run(c *console) error { return nil }
