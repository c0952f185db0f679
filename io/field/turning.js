// Arithmetic of the level. What has a name in geom/stakes.h gives the same text here, digit for digit; a test holds one
// against the other. Lengths are in the job's unit, `decimals` are those of a printed length: 2 in feet, 3 in metres.
const Turning = (() => {
  'use strict';

  /** As printed, the rule of geom/printed.h: a half goes up by size, and what is within a millionth of its last digit of a half is one. */
  function rounded(value, decimals) {
    const scale = 10 ** decimals, size = Math.abs(value) * scale;
    if (!(size < 2 ** 52)) return value;
    const digits = Math.floor(size + 0.5 + 1e-6);
    return digits === 0 ? 0 : (Math.sign(value) * digits) / scale;
  }

  /** Fixed decimals, and never a minus before nothing but zeros. */
  const fixedText = (value, decimals) => rounded(value, decimals).toFixed(decimals);

  /** Of two figures as they are printed. */
  const difference = (a, b, decimals) => rounded(rounded(a, decimals) - rounded(b, decimals), decimals);

  const heightOfInstrument = (mark, rod, decimals) => difference(mark, -rod, decimals);
  const elevationAt = (hi, rod, decimals) => difference(hi, rod, decimals);
  const gradeRod = (hi, grade, decimals) => difference(hi, grade, decimals);
  /** Fill above zero, cut below. */
  const fillOf = (ground, design, decimals) => difference(design, ground, decimals);

  /** "F 2.08", "C 1.20", "0.00". */
  function cutOrFill(ground, design, decimals) {
    const fill = fillOf(ground, design, decimals);
    const size = fixedText(Math.abs(fill), decimals);
    return fill === 0 ? size : (fill > 0 ? 'F ' : 'C ') + size;
  }

  /** "8-5/8" of eighths below a foot. */
  function inchesOf(eighths) {
    const part = eighths % 8, whole = (eighths - part) / 8;
    if (part === 0) return `${whole}`;
    const shrink = part % 4 === 0 ? 4 : part % 2 === 0 ? 2 : 1;
    const fraction = `${part / shrink}/${8 / shrink}`;
    return `${whole}-${fraction}`;
  }

  /** "3 ft 8-5/8 in", to the nearest eighth, half up. For lengths of zero or more. */
  function feetInchesEighths(feet) {
    const eighths = rounded(feet * 96, 0);
    return `${Math.floor(eighths / 96)} ft ${inchesOf(eighths % 96)} in`;
  }

  /** The same without what is nothing: "1/2 in", "2 ft". */
  function shortFeetInches(feet) {
    const eighths = rounded(Math.abs(feet) * 96, 0);
    const whole = Math.floor(eighths / 96), rest = eighths % 96;
    const inches = rest === 0 ? '' : inchesOf(rest).replace(/^0-/, '') + ' in';
    return [whole > 0 ? `${whole} ft` : '', inches].filter(Boolean).join(' ') || '0 in';
  }

  /** "3.72 (3 ft 8-5/8 in)", or how far the grade is above the instrument. */
  function rodText(rod, decimals, isMetric) {
    const reading = rounded(rod, decimals);
    if (reading < 0) return `nothing: the grade is ${fixedText(-reading, decimals)} above the instrument`;
    const text = fixedText(reading, decimals);
    return isMetric ? text : `${text} (${feetInchesEighths(reading)})`;
  }

  /** Measured against design: `off` above zero is high. `least` has no minus tolerance. */
  function judge(measured, design, tolerance, decimals, least = false) {
    const off = fillOf(design, measured, decimals);
    const within = rounded(Math.abs(off), decimals) <= rounded(tolerance, decimals);
    return {off, pass: least ? off >= 0 : within};
  }

  /**
   * From a lath alone, with no bench mark in sight (NAVEDTRA 14081, p. 15-30): what the rod should read at grade, from
   * the rod on the hub and the cut (below zero) or fill on the lath; and what is still to fill (above zero) or cut.
   */
  function fromLath(fill, rodOnHub, rodOnWork, decimals) {
    const shouldRead = rounded(rodOnHub - fill, decimals);
    return {shouldRead, more: rounded(rodOnWork - shouldRead, decimals)};
  }

  /** How far a slope stake must go out (above zero) or in, if the ground goes on level: catch point by trial. */
  function catchMove(toShoulder, slopeRun, fill) {
    return slopeRun * fill - toShoulder;
  }

  /** A number typed in decimals. */
  function parseDecimal(text) {
    const plain = text.trim().replace(',', '.');
    return /^-?(\d+\.?\d*|\.\d+)$/.test(plain) ? Number(plain) : NaN;
  }

  /** "3 8 5": feet, inches, eighths; the last two may be left out. NaN where it is no length. */
  function parseFeetInches(text) {
    const parts = text.trim().split(/\s+/);
    if (parts.length > 3 || !parts.every((part) => /^\d+$/.test(part))) return NaN;
    const [feet, inches = 0, eighths = 0] = parts.map(Number);
    return inches < 12 && eighths < 8 ? feet + (inches + eighths / 8) / 12 : NaN;
  }

  return {
    rounded, fixedText, difference, heightOfInstrument, elevationAt, gradeRod, fillOf, cutOrFill, feetInchesEighths,
    shortFeetInches, rodText, judge, fromLath, catchMove, parseDecimal, parseFeetInches,
  };
})();
