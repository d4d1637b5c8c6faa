package storetest

import (
	"testing"

	"linerwatch/app/study"
)

func TestMemory(t *testing.T) {
	Run(t, func(*testing.T) study.Store { return new(Memory) })
}
