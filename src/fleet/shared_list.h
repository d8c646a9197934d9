#pragma once

#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <initializer_list>
#include <iterator>
#include <memory>
#include <utility>
#include <vector>

namespace vergeset::fleet {

/// A list whose elements never change and are shared by its copies. What the files ask of all units
/// alike stands in memory once, not ten thousand times: a unit's list is a copy of its neighbours', with
/// elements of its own in the few places where they differ. An element stays where it is as long as any
/// list holds it.
template <class T>
class SharedList {
 public:
  using value_type = T;
  using Element = std::shared_ptr<const T>;

  class const_iterator {
   public:
    using iterator_category = std::random_access_iterator_tag;
    using value_type = T;
    using difference_type = std::ptrdiff_t;
    using pointer = const T*;
    using reference = const T&;

    const_iterator() = default;
    const_iterator(const SharedList* list, std::size_t at) : list_(list), at_(at) {}

    reference operator*() const { return (*list_)[at_]; }
    pointer operator->() const { return &(*list_)[at_]; }
    reference operator[](difference_type by) const { return *(*this + by); }
    const_iterator& operator++() { return *this += 1; }
    const_iterator& operator--() { return *this -= 1; }
    const_iterator operator++(int) { return std::exchange(*this, *this + 1); }
    const_iterator operator--(int) { return std::exchange(*this, *this - 1); }
    const_iterator& operator+=(difference_type by) {
      at_ = static_cast<std::size_t>(static_cast<difference_type>(at_) + by);
      return *this;
    }
    const_iterator& operator-=(difference_type by) { return *this += -by; }
    friend const_iterator operator+(const_iterator a, difference_type by) { return a += by; }
    friend const_iterator operator+(difference_type by, const_iterator a) { return a += by; }
    friend const_iterator operator-(const_iterator a, difference_type by) { return a -= by; }
    friend difference_type operator-(const const_iterator& a, const const_iterator& b) {
      return static_cast<difference_type>(a.at_) - static_cast<difference_type>(b.at_);
    }
    bool operator==(const const_iterator& other) const { return at_ == other.at_; }
    auto operator<=>(const const_iterator& other) const { return at_ <=> other.at_; }

   private:
    const SharedList* list_ = nullptr;
    std::size_t at_ = 0;
  };
  using iterator = const_iterator;

  SharedList() = default;
  SharedList(std::initializer_list<T> list) {
    for (const T& one : list) push_back(one);
  }

  std::size_t size() const { return common_ == nullptr ? 0 : common_->size(); }
  bool empty() const { return size() == 0; }
  const T& operator[](std::size_t at) const { return *shared(at); }
  const T& front() const { return (*this)[0]; }
  const T& back() const { return (*this)[size() - 1]; }
  const_iterator begin() const { return {this, 0}; }
  const_iterator end() const { return {this, size()}; }

  /// The element itself, to be put into another list.
  const Element& shared(std::size_t at) const {
    const auto own = own_at(at);
    return own != own_.end() && own->first == at ? own->second : (*common_)[at];
  }

  void push_back(T one) { push_back(std::make_shared<const T>(std::move(one))); }
  void push_back(Element one) { only_mine().push_back(std::move(one)); }

  /// Makes room for so many elements of its own.
  void reserve_own(std::size_t count) { own_.reserve(count); }
  /// Puts another element at a place, in this list alone.
  void put(std::size_t at, Element one) {
    const auto own = own_at(at);
    if (own != own_.end() && own->first == at) {
      own_[static_cast<std::size_t>(own - own_.begin())].second = std::move(one);
    } else {
      own_.emplace(own, static_cast<std::uint32_t>(at), std::move(one));
    }
  }

  template <class Before>
  void sort(Before before) {
    std::vector<Element>& all = only_mine();
    std::sort(all.begin(), all.end(), [&](const Element& a, const Element& b) { return before(*a, *b); });
  }

  friend bool operator==(const SharedList& list, const std::vector<T>& other) {
    return std::equal(list.begin(), list.end(), other.begin(), other.end());
  }

 private:
  using Own = std::vector<std::pair<std::uint32_t, Element>>;

  typename Own::const_iterator own_at(std::size_t at) const {
    return std::lower_bound(own_.begin(), own_.end(), at,
                            [](const auto& a, std::size_t b) { return a.first < b; });
  }

  /// All elements, in a vector that no other list has.
  std::vector<Element>& only_mine() {
    if (common_ == nullptr || common_.use_count() > 1 || !own_.empty()) {
      auto all = std::make_shared<std::vector<Element>>();
      for (std::size_t at = 0; at < size(); ++at) all->push_back(shared(at));
      common_ = std::move(all);
      own_.clear();
    }
    return *common_;
  }

  std::shared_ptr<std::vector<Element>> common_;
  Own own_;  ///< by place: what stands there instead
};

}  // namespace vergeset::fleet
