// Package jpeg decodes JPEG sequential DCT images of 8 and 12 bits (ITU-T T.81 processes 1, 2 and 4).
package jpeg
