// Package rle decodes DICOM RLE frames (PS3.5 Annex G).
package rle
