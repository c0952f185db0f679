// Whatever is thrown ends as a problem in plain words.
#include "io/caught.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <filesystem>
#include <functional>
#include <new>
#include <nlohmann/json.hpp>
#include <string>
#include <system_error>
#include <vector>

#include "scratch.h"

namespace moundwright::io {
namespace {

Problem told(const std::function<void()>& work) {
  try {
    work();
  } catch (...) {
    const Refusal refusal = caught_refusal();
    EXPECT_EQ(refusal.problems().size(), 1U);
    return refusal.problems().front();
  }
  ADD_FAILURE() << "nothing was thrown";
  return {};
}

TEST(Caught, ARefusalStaysAsItIs) {
  EXPECT_THAT(told([] { throw Refusal({Severity::error, "what", "where", "to do"}); }), is_error("where", "what"));
}

TEST(Caught, MemoryThatHasRunOutSaysWhatToDo) {
  const Problem problem = told([] { throw std::bad_alloc(); });
  EXPECT_THAT(problem, is_error("", "memory"));
  EXPECT_THAT(problem.what_to_do, testing::HasSubstr("ulimit -v"));
}

TEST(Caught, MemoryThatASystemCallWantsSaysTheSame) {
  const Problem problem = told([] { throw std::system_error(std::make_error_code(std::errc::not_enough_memory)); });
  EXPECT_THAT(problem, is_error("", "memory"));
  EXPECT_THAT(problem.what_to_do, testing::HasSubstr("ulimit -v"));
}

// In oneTBB's words (its rml_thread_monitor.h), and as the standard library tells it.
TEST(Caught, ThreadsThatCannotBeStartedSayWhatToDo) {
  for (const Problem& problem :
       {told([] { throw std::runtime_error("pthread_create has failed: Resource temporarily unavailable"); }),
        told([] { throw std::system_error(std::make_error_code(std::errc::resource_unavailable_try_again)); })}) {
    EXPECT_THAT(problem, is_error("", "no more threads"));
    EXPECT_THAT(problem.what_to_do, testing::HasSubstr("ulimit -u"));
  }
}

TEST(Caught, WhatADiskRefusesNamesTheFile) {
  const Scratch scratch;
  const std::filesystem::path path = scratch / std::string(300, 'n');
  EXPECT_THAT(told([&] { static_cast<void>(std::filesystem::status(path)); }), is_error(path, "its name is too long"));
}

TEST(Caught, ThreadsThatAreNotToBeHadAreTold) {
  EXPECT_THAT(told([] { throw std::system_error(EAGAIN, std::generic_category(), "thread"); }),
              is_error("", "no more threads"));
}

TEST(Caught, AnythingElseIsToldAsAFaultToReport) {
  for (const auto& work : std::vector<std::function<void()>>{[] { nlohmann::json("Gr\xFCn").dump(); },
                                                             [] { std::string().at(1); }, [] { throw 7; }}) {
    const Problem problem = told(work);
    EXPECT_THAT(problem, is_error("", "not made for"));
    EXPECT_THAT(problem.what_to_do, testing::HasSubstr("Report it"));
  }
}

}  // namespace
}  // namespace moundwright::io
