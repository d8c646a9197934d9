#pragma once

#include <string>
#include <string_view>

#include "smi/result.h"

namespace vergeset::fleet {

/// A spreadsheet's text in UTF-8, whatever its program saved it in, and how that was told.
struct SheetText {
  std::string text;      ///< UTF-8 without a byte order mark or NULs
  std::string encoding;  ///< "UTF-8", "UTF-16" or "Windows-1252"
};

/// Spreadsheet programs save text as UTF-8, as UTF-16 ("Unicode text"), or in the code page of the machine.
/// UTF-16 is known by its byte order mark or by a NUL in every other octet, UTF-8 by being well formed; what
/// is neither is read as Windows-1252, of which Latin-1's letters are a part and which has a letter for every
/// octet but five. A problem where it is no text: a workbook (.xlsx, .ods, .xls), or octets 00 that UTF-16
/// does not explain.
Result<SheetText> decode_sheet(std::string_view octets);

}  // namespace vergeset::fleet
