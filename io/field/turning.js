// Arithmetic of the level. What has a name in geom/stakes.h gives the same text here, digit for digit; a test holds one
// against the other. Lengths are in the job's unit, `decimals` are those of a printed length: 2 in feet, 3 in metres.
const Turning = (() => {
  'use strict';

  /** Half away from zero, as std::round has it. */
  function rounded(value, decimals) {
    const scale = 10 ** decimals;
    return (Math.sign(value) * Math.round(Math.abs(value) * scale)) / scale + 0;
  }

  /** Fixed decimals, a true tie to the even digit as fmt has it, and never a minus before nothing but zeros. */
  function fixedText(value, decimals) {
    const size = Math.abs(value);
    let text = size.toFixed(decimals);
    const halves = size * 2 ** (decimals + 1);  // an odd whole number exactly at a tie
    if (Number.isInteger(halves) && halves % 2 === 1) {
      const scale = 10 ** decimals, below = Math.floor(size * scale);
      text = ((below % 2 === 0 ? below : below + 1) / scale).toFixed(decimals);
    }
    return value < 0 && Number(text) !== 0 ? '-' + text : text;
  }

  const heightOfInstrument = (mark, rod, decimals) => rounded(mark + rod, decimals);
  const elevationAt = (hi, rod, decimals) => rounded(hi - rod, decimals);
  const gradeRod = (hi, grade) => hi - grade;

  /** Fill above zero, cut below, rounded as it is printed. */
  function fillOf(ground, design, decimals) {
    return rounded(rounded(design, decimals) - rounded(ground, decimals), decimals);
  }

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
    const eighths = Math.round(feet * 96);
    return `${Math.floor(eighths / 96)} ft ${inchesOf(eighths % 96)} in`;
  }

  /** The same without what is nothing: "1/2 in", "2 ft". */
  function shortFeetInches(feet) {
    const eighths = Math.round(Math.abs(feet) * 96);
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
    const scale = 10 ** decimals;
    const within = Math.round(Math.abs(off) * scale) <= Math.round(tolerance * scale);
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
    rounded, fixedText, heightOfInstrument, elevationAt, gradeRod, fillOf, cutOrFill, feetInchesEighths,
    shortFeetInches, rodText, judge, fromLath, catchMove, parseDecimal, parseFeetInches,
  };
})();
