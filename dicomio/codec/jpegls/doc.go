// Package jpegls decodes JPEG-LS images (ITU-T T.87).
package jpegls
