// The wind vane of the Skerry weather post, as a plan that is a module: its disc gives 64 sectors in reflected Gray code,
// and the ROM turns them into tens of degrees in BCD, or into the plain sector number.

const sectors = 64;

/** Reflected Gray code back to a plain number: every bit is the parity of the bits above it and itself. */
const sectorOf = (gray) => {
  let sector = 0;
  for (let rest = gray; rest > 0; rest >>= 1) sector ^= rest;
  return sector;
};

/** Tens of degrees, 0 to 35, as two BCD digits in one byte. */
const tensOfDegrees = (sector) => {
  const tens = Math.round((sector * 36) / sectors) % 36;
  return (Math.floor(tens / 10) << 4) | tens % 10;
};

export default {
  plan: 'skerry-vane',
  about: 'Gray code of the wind vane to tens of degrees, or to the sector number.',
  fields: {
    vane: 6,
    form: { bits: 1, names: { degrees: 0, sector: 1 } },
  },
  contents: {
    kind: 'function',
    outputs: { bearing: 8 },
    at: ({ vane, form }) => (form === 1 ? sectorOf(vane) : tensOfDegrees(sectorOf(vane))),
  },
  roms: {
    vane: {
      chip: '28C16',
      address: { vane: ['A6', 'A1', 'A9', 'A3', 'A0', 'A4'], form: 'A2', low: ['A5', 'A7', 'A8', 'A10'] },
      data: { bearing: ['D3', 'D1', 'D0', 'D2', 'D6', 'D7', 'D5', 'D4'] },
    },
  },
};
