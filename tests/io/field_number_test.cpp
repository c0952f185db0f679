// Numbers as people write them, read strictly.
#include "io/field_number.h"

#include <gtest/gtest.h>

#include <string>

namespace moundwright::io {
namespace {

std::string read(std::string_view text, Commas commas = Commas::none) {
  const FieldNumber number = read_number(text, commas);
  switch (number.fault) {
    case NumberFault::none:
      return std::to_string(number.value);
    case NumberFault::empty:
      return "empty";
    case NumberFault::text:
      return "text";
    case NumberFault::comma:
      return "comma";
    case NumberFault::not_finite:
      return "not finite";
  }
  return {};
}

TEST(FieldNumber, CommasAsTheFileHasThem) {
  EXPECT_EQ(read("5,120.00", Commas::thousands), "5120.000000");
  EXPECT_EQ(read("-1,005,120.5", Commas::thousands), "-1005120.500000");
  EXPECT_EQ(read("5,120", Commas::thousands), "5120.000000");
  EXPECT_EQ(read("5,120", Commas::decimal), "5.120000");
  EXPECT_EQ(read("5000,125", Commas::decimal), "5000.125000");
  EXPECT_EQ(read("+,5", Commas::decimal), "0.500000");
  EXPECT_EQ(read("1.005.120,25", Commas::decimal), "1005120.250000");
  EXPECT_EQ(read("5120.25", Commas::thousands), "5120.250000");
}

TEST(FieldNumber, CommasInTheWrongPlaceAreNoNumber) {
  for (const auto commas : {Commas::none, Commas::thousands, Commas::decimal}) {
    for (const char* text : {"5,12,3", "5,,120", ",", "5,", "5,120,", "5,120.0,0", "1.5,120.0", "51.20,5", "5,1e3",
                             "5,0x1", "a,b", "5 120,00", "1,2345,678"}) {
      EXPECT_EQ(read(text, commas), "text") << text;
      EXPECT_EQ(comma_use(text), CommaUse::not_a_number) << text;
    }
  }
  EXPECT_EQ(read("5,120.00", Commas::decimal), "comma");
  EXPECT_EQ(read("4890,5", Commas::thousands), "comma");
  EXPECT_EQ(read("0,125", Commas::thousands), "comma");
  EXPECT_EQ(read("5000,125", Commas::thousands), "comma");
  EXPECT_EQ(read("5,120", Commas::none), "comma");
}

TEST(FieldNumber, WhatANumberTellsOfItsCommas) {
  for (const char* text : {"5", "-12", "1e5", "5 ft"}) EXPECT_EQ(comma_use(text), CommaUse::none) << text;
  for (const char* text : {"100.25", "5000.125", "0.125", "100.", ".5", "100.25'"}) {
    EXPECT_EQ(comma_use(text), CommaUse::point) << text;
  }
  for (const char* text : {"5.120", "105.120"}) EXPECT_EQ(comma_use(text), CommaUse::some_point) << text;
  for (const char* text : {"5,120.0", "1,005,120", "-5,120.", "5,120.00 ft"}) {
    EXPECT_EQ(comma_use(text), CommaUse::thousands) << text;
  }
  for (const char* text : {"5,1", "5,1234", "0,125", "5000,125", ",125", "5.120,25", "4890,5 m"}) {
    EXPECT_EQ(comma_use(text), CommaUse::decimal) << text;
  }
  for (const char* text : {"5,120", "-105,120", "5,120 ft"}) EXPECT_EQ(comma_use(text), CommaUse::either) << text;
}

TEST(FieldNumber, UnitMarksStandBehindTheNumberOnly) {
  const auto mark = [](std::string_view text) { return read_number(text, Commas::none).mark; };
  for (const char* text : {"100.25'", "100.25 '", "100.25ft", "100.25 ft.", "100.25 FEET", "100.25 foot",
                           "100.25\xE2\x80\xB2", "100.25\xE2\x80\x99"}) {
    EXPECT_EQ(mark(text), UnitMark::foot) << text;
    EXPECT_EQ(read(text), "100.250000") << text;
  }
  for (const char* text : {"31.2 m", "31.2m.", "31.2 meters", "31.2 Metres"}) EXPECT_EQ(mark(text), UnitMark::metre);
  for (const char* text : {"31 us-ft", "31 US ft", "31 ftUS", "31 sft"})
    EXPECT_EQ(mark(text), UnitMark::us_survey_foot);
  for (const char* text : {"100\"", "100' 3", "100'3\"", "100 yd", "100 mm", "ft", "ft 100", "m", "12 ft 3 m", "100''",
                           "1O0.2", "100.2.3", "", "5 000 ft"}) {
    EXPECT_NE(read_number(text, Commas::none).fault, NumberFault::none) << text;
  }
}

TEST(FieldNumber, AFootAgreesWithBothKindsOfFootUnlessItSaysWhich) {
  using enum LengthUnit;
  EXPECT_EQ(agreement(UnitMark::foot, foot), UnitAgreement::agrees);
  EXPECT_EQ(agreement(UnitMark::foot, us_survey_foot), UnitAgreement::agrees);
  EXPECT_EQ(agreement(UnitMark::foot, metre), UnitAgreement::differs);
  EXPECT_EQ(agreement(UnitMark::metre, foot), UnitAgreement::differs);
  EXPECT_EQ(agreement(UnitMark::metre, us_survey_foot), UnitAgreement::differs);
  EXPECT_EQ(agreement(UnitMark::metre, metre), UnitAgreement::agrees);
  EXPECT_EQ(agreement(UnitMark::us_survey_foot, foot), UnitAgreement::other_foot);
  EXPECT_EQ(agreement(UnitMark::us_survey_foot, us_survey_foot), UnitAgreement::agrees);
  EXPECT_EQ(agreement(UnitMark::us_survey_foot, metre), UnitAgreement::differs);
  EXPECT_EQ(agreement(UnitMark::international_foot, us_survey_foot), UnitAgreement::other_foot);
  EXPECT_EQ(agreement(UnitMark::international_foot, foot), UnitAgreement::agrees);
  EXPECT_EQ(agreement(UnitMark::international_foot, metre), UnitAgreement::differs);
}

}  // namespace
}  // namespace moundwright::io
