// A float of 256 bits that knows how far it may be off: for signs that doubles cannot tell and rationals take long
// over.
//
//   BoundedFloat turn = BoundedFloat(a) * b - c * d;
//   turn.sure_sign()               // 0: too close to zero to tell
#pragma once

#include <boost/multiprecision/cpp_bin_float.hpp>
#include <cmath>
#include <cstdint>
#include <limits>

namespace moundwright {

class BoundedFloat {
 public:
  explicit BoundedFloat(double value) : middle_(value), size_(std::abs(value)) {}

  double rounded() const { return static_cast<double>(middle_); }
  /// |exact value - middle| at most; infinite or not a number where nothing is known.
  double off() const { return off_; }
  /// -1 or 1 where that is the exact value's sign; else 0.
  int sure_sign() const {
    const double value = rounded();
    return std::abs(value) > unit_slack * off_ ? (value > 0 ? 1 : -1) : 0;
  }

  friend BoundedFloat operator+(const BoundedFloat& a, const BoundedFloat& b) {
    return sum(a.middle_ + b.middle_, a, b);
  }
  friend BoundedFloat operator-(const BoundedFloat& a, const BoundedFloat& b) {
    return sum(a.middle_ - b.middle_, a, b);
  }
  friend BoundedFloat operator*(const BoundedFloat& a, const BoundedFloat& b) {
    return {a.middle_ * b.middle_, a.size_ * b.size_, a.size_ * b.off_ + (b.size_ + b.off_) * a.off_};
  }
  friend BoundedFloat operator/(const BoundedFloat& a, const BoundedFloat& b) {
    const double least = std::abs(b.rounded()) / unit_slack - b.off_;
    if (!(least > 0)) return {0, 0, std::numeric_limits<double>::infinity()};
    const double size = (std::abs(a.rounded()) * unit_slack + a.off_) / least;
    return {a.middle_ / b.middle_, size, (a.off_ + size * b.off_) / least};
  }

 private:
  static constexpr unsigned bits = 256;
  using Wide = boost::multiprecision::number<
      boost::multiprecision::cpp_bin_float<bits, boost::multiprecision::digit_base_2, void, std::int32_t>,
      boost::multiprecision::et_off>;
  // Bounds are worked out in doubles: a unit well above the float's, and a factor well above one, make up for that.
  static constexpr double unit = 0x1p-250, unit_slack = 1 + 1e-10;

  Wide middle_;
  double size_;  // |exact value| at most
  double off_ = 0;

  BoundedFloat(const Wide& middle, double size, double carried)
      : middle_(middle), size_(unit_slack * size), off_(unit_slack * (carried + size * unit)) {}
  /// What cancels does not count in what the sum is multiplied with.
  static BoundedFloat sum(const Wide& middle, const BoundedFloat& a, const BoundedFloat& b) {
    BoundedFloat result(middle, a.size_ + b.size_, a.off_ + b.off_);
    result.size_ = unit_slack * (std::abs(result.rounded()) * unit_slack + result.off_);
    return result;
  }
};

}  // namespace moundwright
