// Package jobs runs work in the background for one owner: a goroutine, such as a
// window's, that starts jobs, is never kept waiting by them, and is handed their
// results.
//
// A job waits in line, runs on a goroutine of its own, and returns a function that
// applies its result on the owner's goroutine. Results go there through a function
// that posts, one post for all that wait: an owner who is busy finds one message,
// not a thousand. A job begins only on the owner's goroutine, so that an owner who
// falls behind is waited for, and never more results lie in memory than jobs may
// run at once.
//
// There are two lines. What is asked of the program (read these films, search them)
// is counted as progress, is stopped as a whole by Cancel, and lets the jobs for
// what was Preferred go first. What the owner needs by the way (pixels that were let
// go, a circle to be refined) goes aside: it is not counted, and does not wait
// behind the rest.
//
// A cancelled job is told so at once (Job.Dropped) and its result is dropped; its
// goroutine holds its place until it has seen that its context is done. Close waits
// for all of them.
package jobs
