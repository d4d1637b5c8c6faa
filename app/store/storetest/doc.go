// Package storetest holds what any study.Store must pass, and a store in memory that
// passes it, for tests of what works on a store.
//
//	func TestStore(t *testing.T) {
//		storetest.Run(t, func(t *testing.T) study.Store { return open(t) })
//	}
package storetest
