#pragma once

#include <filesystem>
#include <functional>
#include <string>
#include <vector>

#include "job/store.h"

// What the tests of the job file share: folders that go away, and records to put in.
namespace kitgap::test {

class Folder {
 public:
  Folder();
  ~Folder();
  Folder(const Folder&) = delete;
  Folder& operator=(const Folder&) = delete;
  const std::filesystem::path& path() const { return path_; }
  std::filesystem::path operator/(const std::string& name) const { return path_ / name; }

 private:
  std::filesystem::path path_;
};

Entry fact(const std::string& car, const std::string& name, const std::string& value, std::optional<std::int64_t> corrects = {});
Stamp stamp();
// A command of several records of several kinds; equal numbers give equal entries.
std::vector<Entry> command(int number);

std::string bytes_of(const std::filesystem::path& path);
void write(const std::filesystem::path& path, const std::string& bytes);
void sql(const std::filesystem::path& path, const std::string& statements);

// What the person is told when the work fails, or nothing.
std::string message_of(const std::function<void()>& work);

// Turns an empty job into one of the form 0: the frame without the tables of any kind.
void make_form_0(const std::filesystem::path& path);

// How many trials: the number of that name in the environment, else `full` in the tier of that name (KITGAP_TIER), else the
// one for every run.
int figure(const char* name, int every_run, int full);

}  // namespace kitgap::test
