// Encodes a binary portable grey map as high-throughput JPEG 2000 with OpenJPH
// (npm @cornerstonejs/codec-openjph), for tests of the decoder:
//
//	node htj2k.cjs MODULE in.pgm out.j2k [levels=N] [block=W,H] [order=N] [step=X] [tile=W,H] [precinct=W,H]
//
// step makes it lossy: the base quantization step, of a range of 1.
const fs = require('fs');

const [codec, from, to, ...options] = process.argv.slice(2);
const file = fs.readFileSync(from);
const head = /^P5\s+(\d+)\s+(\d+)\s+(\d+)\s/.exec(file.subarray(0, 64).toString('latin1'));
const [width, height, white] = head.slice(1).map(Number);
const bits = Math.log2(white + 1);
const samples = Buffer.from(file.subarray(head[0].length));
if (bits > 8) samples.swap16();

require(codec)().then(openjph => {
	const encoder = new openjph.HTJ2KEncoder();
	encoder.getDecodedBuffer({width, height, bitsPerSample: bits, componentCount: 1, isSigned: false, isUsingColorTransform: false}).set(samples);
	encoder.setQuality(true, 0);
	for (const option of options) {
		const [name, value] = option.split('=');
		const [x, y] = value.split(',').map(Number);
		switch (name) {
		case 'levels': encoder.setDecompositions(x); break;
		case 'block': encoder.setBlockDimensions({width: x, height: y}); break;
		case 'order': encoder.setProgressionOrder(x); break;
		case 'step': encoder.setQuality(false, x); break;
		case 'tile': encoder.setTileSize({width: x, height: y}); break;
		case 'precinct': encoder.setNumPrecincts(1); encoder.setPrecinct(0, {width: x, height: y}); break;
		default: throw new Error('unknown option ' + option);
		}
	}
	encoder.encode();
	fs.writeFileSync(to, encoder.getEncodedBuffer());
});
