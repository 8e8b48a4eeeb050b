//go:build !linux

package main

func systemFaults() []fault { return nil }
