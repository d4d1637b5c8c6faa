// Package session holds what the window shows, without a window: the open
// study, the films of one hip in date order, the selection, the live reading and the
// trend. It draws nothing and knows no toolkit.
//
// What can be told apart has an owner of its own, which a Session hands out and which
// keeps its own state:
//
//   - Book: the open study, its file and its hips; Overview, the table of those
//   - Strip: the films of the hip that is read, and the selected one; Intake, films of
//     others that wait to be sorted
//   - Viewer: camera, greys, loupe, a second film; Mouse: handles, drags, tools that draw
//   - Edits: outlines changed by key; Given: what the reader tells of a film
//   - History: undo and redo; Drafts: changed outlines, kept on disk
//   - Course: the movement of the head over the films
//   - Work: what goes on in the background, in the queue of package jobs
//
// The Session itself has the hip, what is read on a film of it, and the steps that more
// than one of them takes part in, such as Accept.
//
// # Goroutines
//
// A Session belongs to one goroutine, the window's. Reading files, finding
// outlines and refining are jobs on others; their results come back through
// Config.Post, one message for all that wait. Nothing in a Session is locked. Close
// returns when none of them is left.
//
// # Memory
//
// Only the films near the selected one, and as many others as Config.KeepBytes
// holds, are kept decoded; the rest are read again when they come near. A film's
// outlines, numbers and small picture stay.
//
// # Coordinates
//
// Film coordinates are those of package measure: pixels, (0, 0) at the top-left
// corner of the top-left pixel, x to the right, y downwards. View coordinates
// are pixels of the viewport on the screen; a Camera joins the two. Pointer
// events carry view coordinates, so mouse tools are plain functions of plain
// events. A Tool draws with clicks: a circle through three points, a wire ring, the
// rim line, the reference line. Every shape can then be held by its Handles.
//
// # Use
//
//	s := session.New(session.Config{Post: fyne.Do, Studies: studies})
//	s.OnChange = func(c session.Change) { … }
//	s.Strip().Add(paths)      // reads the films in the background
//	err := s.SetHip(hip)      // asked once; proposals start
//	s.Strip().Select(0)
//	s.Mouse().Press(session.Pointer{X: 410, Y: 300})
package session
