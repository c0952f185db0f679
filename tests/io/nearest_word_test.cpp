#include "io/nearest_word.h"

#include <gtest/gtest.h>

namespace moundwright::io {
namespace {

TEST(NearestWord, CountsSingleChanges) {
  EXPECT_EQ(changes_between("azimuth", "azimuth"), 0u);
  EXPECT_EQ(changes_between("AZIMUTH", "azimuth"), 0u);
  EXPECT_EQ(changes_between("azimut", "azimuth"), 1u);    // left out
  EXPECT_EQ(changes_between("azzimuth", "azimuth"), 1u);  // put in
  EXPECT_EQ(changes_between("azimoth", "azimuth"), 1u);   // replaced
  EXPECT_EQ(changes_between("aizmuth", "azimuth"), 1u);   // neighbours swapped
  EXPECT_EQ(changes_between("kitten", "sitting"), 3u);    // the textbook pair
  EXPECT_EQ(changes_between("", "abc"), 3u);
}

TEST(NearestWord, GivesTheNearestThatMayBeASlip) {
  EXPECT_EQ(nearest_word("shot", {"skip", "shots", "columns"}), "shots");
  EXPECT_EQ(nearest_word("dwonslope", {"upslope", "downslope"}), "downslope");
  EXPECT_EQ(nearest_word("colour", {"shots", "skip", "columns"}), std::nullopt);
  EXPECT_EQ(nearest_word("EP", {"GS", "TREE"}), std::nullopt);
  EXPECT_EQ(nearest_word("x", {}), std::nullopt);
}

TEST(NearestWord, AsksOnlyWhereThereIsOne) {
  EXPECT_EQ(did_you_mean("azimut", {"center", "azimuth"}), "Did you mean \"azimuth\"?");
  EXPECT_EQ(did_you_mean("zzz", {"center", "azimuth"}), "");
}

}  // namespace
}  // namespace moundwright::io
