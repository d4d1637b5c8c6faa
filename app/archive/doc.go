// Package archive has films come from image archives: what is set of each archive, its
// password, which series of a patient may be films, and films fetched into a folder.
//
// A film is kept under the SHA-256 of its file, written under another name first, so that
// no name ever stands for half a film. One that the folder has already, by its instance
// UID, is not fetched again: what has been stopped is resumed by asking once more.
//
// An archive is no source.Source: a search takes its time, may be stopped and may fail in
// part, for which List has no words. What was fetched is files, and goes the way of files.
package archive
