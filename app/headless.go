//go:build headless

package main

import "errors"

const noWindowHere = "this build has no window"

func noWindow() string { return noWindowHere }

func systemLanguage() string { return "" }

func openWindow([]string, string) error { return errors.New(noWindowHere) }

func lookAt(string) error { return errors.New(noWindowHere) }

func readList(string, string, string) error { return errors.New(noWindowHere) }
