#pragma once

#include <string>

namespace vergeset::schema {

/// Where a build expects its models.
struct ModelPlaces {
  const char* from_program;  ///< the installed ones, from the folder that the program is in
  const char* installed;     ///< the same where the program was to be installed
  const char* source;        ///< those of the source tree, for a program that was never installed
};

/// The first of these that is a folder; the last where none is, so that what fails to load names it. From
/// the program comes first: an installation that was moved, or unpacked under another root, brings its own.
std::string models_folder(const ModelPlaces& places);

}  // namespace vergeset::schema
