// Package lossless decodes JPEG lossless images (ITU-T T.81 Annex H, process 14).
package lossless
