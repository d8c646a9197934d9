#pragma once

#include <initializer_list>
#include <iterator>
#include <string>
#include <string_view>
#include <utility>

namespace vergeset::fleet {

/// Texts under names, in the order of the names: a site record, the values of a unit. Ten thousand units
/// have a dozen each, and they are seldom read: they lie in one piece of memory, each name and each text
/// behind the number of its octets.
class Texts {
 public:
  using value_type = std::pair<std::string_view, std::string_view>;

  class const_iterator {
   public:
    using iterator_category = std::forward_iterator_tag;
    using value_type = Texts::value_type;
    using difference_type = std::ptrdiff_t;
    using pointer = const value_type*;
    using reference = const value_type&;

    const_iterator() = default;
    explicit const_iterator(std::string_view packed) : packed_(packed) { read(); }

    reference operator*() const { return current_; }
    pointer operator->() const { return &current_; }
    const_iterator& operator++();
    const_iterator operator++(int) {
      const const_iterator before = *this;
      ++*this;
      return before;
    }
    bool operator==(const const_iterator& other) const { return packed_.size() == other.packed_.size(); }

   private:
    friend class Texts;
    void read();

    std::string_view packed_;  ///< from here to the end
    value_type current_;
  };

  Texts() = default;
  Texts(std::initializer_list<value_type> list) {
    for (const auto& [name, text] : list) set(name, text);
  }

  const_iterator begin() const { return const_iterator(packed_); }
  const_iterator end() const { return {}; }
  bool empty() const { return packed_.empty(); }

  const_iterator find(std::string_view name) const;
  /// Throws std::out_of_range where there is none.
  std::string_view at(std::string_view name) const;
  void set(std::string_view name, std::string_view text);
  /// Gives back the memory that is not used; called when all is set.
  void shrink() { packed_.shrink_to_fit(); }

 private:
  std::string packed_;
};

}  // namespace vergeset::fleet
