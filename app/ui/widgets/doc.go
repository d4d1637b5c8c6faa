// Package widgets holds the window's own widgets. They show what they are given
// and report events through callbacks; they know nothing of films or studies.
package widgets
