//go:build !linux

package codec

func wide([]byte) {}
