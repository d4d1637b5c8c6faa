// Package jpeg2000 decodes JPEG 2000 Part 1 codestreams (ITU-T T.800).
package jpeg2000
