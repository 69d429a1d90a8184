"""From the machined top and the welded base to the finished piece: mending, epoxy, surfaces, coatings."""
