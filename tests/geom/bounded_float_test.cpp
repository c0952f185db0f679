// The bound holds against rationals, also where nearly everything cancels, and is not so wide that nothing is sure.
#include "geom/bounded_float.h"

#include <gmpxx.h>
#include <gtest/gtest.h>

#include <cmath>
#include <random>
#include <vector>

namespace moundwright {
namespace {

/// Off the middle by more than the bound, beyond what rounding the middle to a double explains.
bool is_outside(const BoundedFloat& value, const mpq_class& exact) {
  const mpq_class off = mpq_class(value.rounded()) - exact;
  return std::abs(off.get_d()) > value.off() + 0x1p-52 * std::abs(exact.get_d());
}

/// Where the lines through four corners meet, over and over: what corners of a plan mesh are made with.
template <class T>
T chain(const std::vector<double>& numbers) {
  T value(numbers[0]);
  for (std::size_t i = 1; i + 3 < numbers.size(); i += 3) {
    const T p(numbers[i]), q(numbers[i + 1]), part = T(T(value - p) / T(T(value - p) + T(numbers[i + 2]) * q));
    value = T(p + T(q - p) * part);
  }
  return value;
}

TEST(BoundedFloat, HoldsTheExactValue) {
  std::mt19937 random(5);
  std::uniform_real_distribution<double> any(-200, 200);
  for (int i = 0; i < 300; ++i) {
    std::vector<double> numbers(12);
    for (double& number : numbers) number = any(random);
    const auto value = chain<BoundedFloat>(numbers);
    const auto exact = chain<mpq_class>(numbers);
    ASSERT_FALSE(is_outside(value, exact));
    ASSERT_LT(value.off(), 1e-55 * std::max(1.0, std::abs(exact.get_d())));
    // Near it by less than a double can tell, and by less than can be told at all.
    const BoundedFloat left = value - BoundedFloat(value.rounded());
    const mpq_class exactly_left = exact - value.rounded();
    ASSERT_FALSE(is_outside(left, exactly_left));
    ASSERT_EQ(left.sure_sign(), sgn(exactly_left));
    ASSERT_EQ((value - value).sure_sign(), 0);
  }
}

TEST(BoundedFloat, IsUnsureOfWhatIsDividedByNothing) {
  const BoundedFloat third = BoundedFloat(1) / BoundedFloat(3), nothing = third + third + third - BoundedFloat(1);
  EXPECT_EQ(nothing.sure_sign(), 0);
  const BoundedFloat any = BoundedFloat(1) / nothing;
  EXPECT_EQ(any.sure_sign(), 0);
  EXPECT_EQ((any * third - any).sure_sign(), 0);
  EXPECT_EQ((BoundedFloat(0) * any + third).sure_sign(), 0);
}

}  // namespace
}  // namespace moundwright
